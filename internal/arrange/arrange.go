package arrange

import (
	"context"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/plan"
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
	Beat    theory.Dur      // the note that the tune's tempo is counted in; 0: as Counted says of the song
	Idiom   idiom.Guess     // the kind of tune; zero: recognised
	Kind    idiom.Idiom     // the kind in whose manner the level is played; zero: the tune's own
	Choices []choice.Choice // the teacher's, never overruled silently
	// Density makes the page fuller (above 0) or thinner (below): how much the
	// search likes to play, within the level's caps. A ladder uses it where a
	// level would be no harder than the one below.
	Density int
}

// Arrangement is the song at one level.
type Arrangement struct {
	Level     ladder.Level
	Idiom     idiom.Guess
	Kind      idiom.Idiom // the tune's own kind, or the one that the level dresses it in
	Form      plan.Plan
	Score     score.Score
	Decisions []Decision
	Used      []Use
	Remarks   leadsheet.Problems
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
	Others  []Alternative
}

// Alternative is a runner-up of a Decision.
type Alternative struct {
	Device string
	Chords []technique.Chord
	Extra  int // how much dearer the whole piece would be
}

// Arrange prepares and makes a page in one go.
func Arrange(ctx context.Context, song leadsheet.Song, an harmony.Analysis, opt Options) (Arrangement, error) {
	pl, err := Prepare(ctx, song, an, opt)
	if err != nil {
		return Arrangement{}, err
	}
	return pl.Page(ctx, nil)
}

// piece is the work on one page. Each stage fills in its part and reads only
// the parts before it.
type piece struct {
	song  leadsheet.Song
	sheet harmony.Analysis // of the song as it stands
	an    harmony.Analysis // as it is played: with the end that comeHome makes
	opt   Options
	level ladder.Level

	// setting
	tempo    leadsheet.Tempo
	quarters int // a minute
	feel     leadsheet.Feel
	swing    score.Ratio
	kind     idiom.Idiom // in whose manner the page is played
	form     plan.Plan
	hand     hand.Profile
	octave   int // by how much the tune was moved
	fixed    fixed
	letGo    map[int]leadsheet.Problem // bars whose fixed notes cannot be kept, and why

	firstSpan, lastSpan int // of the analysis, that sound; −1: none

	home, close theory.Dur // when the last chord is struck and let go; home −1: there is none

	w *weights // nil: the fitted ones

	plain map[int]Plainness // bars to be made simpler

	readings    [][]reading // of each span of the analysis
	lattice     [][]reading // those that are searched
	progression *progression
	slots       []slot
	decisions   []Decision
	line        []technique.MelodyNote
	shared      *technique.Setting // by the cells
	cells       []cell
	base        *kept // the search over the cells
	full        *kept // with the ways on
	adornments  []adornment
	signs       map[int]sign // by index into line
	spelling    map[spellKey]theory.Name
	remarks     leadsheet.Problems
}

// fresh returns a copy of the prepared piece for one more page: what the later
// stages change is its own.
func (p *piece) fresh() *piece {
	q := *p
	q.line = slices.Clone(p.line)
	q.cells = slices.Clone(p.cells)
	q.remarks = slices.Clone(p.remarks)
	q.signs = map[int]sign{}
	q.adornments = nil
	q.spelling = map[spellKey]theory.Name{}
	return &q
}

// used lists the techniques of a page with the bars that have them: those of its
// notes, and the devices and colours of its chords. What makes chords plain has the bars
// in which the left hand has a whole triad, whoever wrote it.
func (p *piece) used(s score.Score) []Use {
	bars := map[string][]int{}
	add := func(id string, at theory.Dur) {
		if b := s.Bars[s.BarAt(at)]; id != "" && b.Part == score.Tune {
			bars[id] = append(bars[id], b.Number)
		}
	}
	plain := ""
	for _, id := range p.level.Devices {
		if t, ok := technique.ByID(id); ok && t.Plain {
			plain = id
		}
	}
	for _, n := range s.Notes {
		add(n.Origin.Technique, n.At)
	}
	for _, sl := range p.slots {
		if sl.unknown || sl.chord.Silent() {
			continue
		}
		ids := p.colours(sl)
		if sl.why != nil {
			ids = append(ids, sl.device)
		}
		for b := s.BarAt(sl.at); b < len(s.Bars) && s.Bars[b].At < sl.end; b++ {
			if s.Bars[b].Pickup {
				continue
			}
			for _, id := range ids {
				if t, _ := technique.ByID(id); t == nil || !t.Plain {
					add(id, s.Bars[b].At)
				}
			}
			if plain != "" && wholeTriad(s, sl.chord, max(sl.at, s.Bars[b].At), min(sl.end, s.Bars[b].End())) {
				add(plain, s.Bars[b].At)
			}
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

// wholeTriad tells whether a chord is a triad all of which the left hand strikes in a stretch.
func wholeTriad(s score.Score, ch theory.Chord, from, to theory.Dur) bool {
	if _, ok := ch.Third(); !ok || ch.Tones != ch.Triad().Tones {
		return false
	}
	var struck [12]bool
	for _, n := range s.Notes {
		if n.At >= from && n.At < to && n.Hand == score.Left {
			struck[n.Pitch.Class()] = true
		}
	}
	for d := range ch.Tones.All() {
		if !struck[d.On(ch.Root).Class()] {
			return false
		}
	}
	return true
}

// colours lists the techniques of the level that a chord of the page shows by what
// it has more, or less, than the sheet's.
func (p *piece) colours(sl slot) []string {
	sheet := p.sheetAt(sl.at)
	if sl.chord == sheet {
		return nil
	}
	if by, ok := technique.ByID(sl.paint); ok && by.Adds == nil {
		return []string{by.ID}
	}
	var out []string
	for _, id := range p.level.Devices {
		t, _ := technique.ByID(id)
		for d := range sl.chord.Tones.All() {
			if t.Adds != nil && t.Adds(sl.chord, d) && !(sheet.Root == sl.chord.Root && sheet.Tones.Has(d)) {
				out = append(out, id)
				break
			}
		}
	}
	return out
}

func (p *piece) sheetAt(at theory.Dur) theory.Chord {
	sp, _ := p.an.SpanAt(at)
	return sp.Chord
}
