package arrange

import (
	"context"
	"fmt"
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Options say for whom and how to arrange.
type Options struct {
	Level   ladder.Level
	Hand    hand.Profile    // zero: hand.Default
	Feel    leadsheet.Feel  // Unstated: the level's, else the tune's
	Tempo   leadsheet.Tempo // zero: the tune's
	Style   harmony.Style // zero: found from the song
	Choices []ladder.Choice // the teacher's, never overruled silently
	// Plain lists bars (indexes) that must take the simplest figures, because a
	// fuller one did not pass the audit; the value is how often it failed.
	Plain map[int]int
}

// Arrangement is the song at one level.
type Arrangement struct {
	Level     ladder.Level
	Style     harmony.Style
	StyleWhy  string
	Score     score.Score
	Decisions []Decision
	Used      []Use
	Problems  leadsheet.Problems
}

// Use tells where a technique was used.
type Use struct {
	Technique string
	Bars      []int // printed bar numbers, ascending
}

// Decision is one chord span's harmony: what was taken, why, and what else was
// on offer, cheapest first.
type Decision struct {
	At, End theory.Dur
	Sheet   theory.Chord // what the sheet says
	Device  string       // technique id; "" the sheet's chord kept
	Chords  []technique.Chord
	Cost    int // of the cheapest whole piece that takes it
	Others  []Alternative
}

// Alternative is a runner-up of a Decision.
type Alternative struct {
	Device string
	Chords []technique.Chord
	Extra  int // how much dearer the whole piece would be
}

// Arrange makes the page of one level. It returns an error only when the context
// ends or the song cannot be set at all; what had to give way is told in
// Arrangement.Problems.
func Arrange(ctx context.Context, song leadsheet.Song, an harmony.Analysis, opt Options) (Arrangement, error) {
	p, err := set(song, an, opt)
	if err != nil {
		return Arrangement{}, err
	}
	if err := p.harmonise(ctx); err != nil {
		return Arrangement{}, err
	}
	p.pushLine()
	p.cut()
	p.dress()
	if err := p.voice(ctx); err != nil {
		return Arrangement{}, err
	}
	p.adorn()
	s := p.page()
	p.problems.Sort()
	return Arrangement{Level: p.level, Style: p.style, StyleWhy: p.styleWhy, Score: s,
		Decisions: p.decisions, Used: used(s), Problems: p.problems}, nil
}

// piece is the work on one page. Each stage fills in its part and reads only
// the parts before it.
type piece struct {
	song  leadsheet.Song
	an    harmony.Analysis
	opt   Options
	level ladder.Level

	// setting
	tempo    leadsheet.Tempo
	quarters int // a minute
	feel     leadsheet.Feel
	swing    score.Ratio
	style    harmony.Style
	styleWhy string
	hand     hand.Profile
	octave   int // by how much the tune was moved

	slots      []slot
	decisions  []Decision
	line       []technique.MelodyNote
	cells      []cell
	adornments []adornment
	signs      map[int]sign // by index into line
	problems   leadsheet.Problems
}

func (p *piece) note(sev leadsheet.Severity, at theory.Dur, code, text, fix string) {
	p.problems.Add(sev, p.song.PosAt(at), code, text, fix)
}

// used lists the techniques that the notes of a score name.
func used(s score.Score) []Use {
	bars := map[string][]int{}
	for _, n := range s.Notes {
		if n.Origin.Technique == "" {
			continue
		}
		b := s.Bars[s.BarAt(n.At)].Number
		if list := bars[n.Origin.Technique]; len(list) == 0 || list[len(list)-1] != b {
			bars[n.Origin.Technique] = append(list, b)
		}
	}
	var out []Use
	for _, t := range technique.All() {
		if list := bars[t.ID]; len(list) > 0 {
			slices.Sort(list)
			out = append(out, Use{t.ID, slices.Compact(list)})
		}
	}
	return out
}

func barName(n int) string {
	if n == 0 {
		return "the pick-up"
	}
	return fmt.Sprintf("bar %d", n)
}
