package arrange

import (
	"context"
	"slices"

	"gradatim/internal/hand"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Options say for whom and how to arrange.
type Options struct {
	Level   ladder.Level
	Hand    hand.Profile    // zero: hand.Default
	Feel    leadsheet.Feel  // Unstated: the level's, else the tune's
	Tempo   leadsheet.Tempo // zero: the tune's
	Style   harmony.Style   // zero: found from the song
	Choices []ladder.Choice // the teacher's, never overruled silently
	// Density makes the page fuller (above 0) or thinner (below): how much the
	// search likes to play, within the level's caps. A ladder uses it where a
	// level would be no harder than the one below.
	Density int
}

// Arrangement is the song at one level.
type Arrangement struct {
	Level     ladder.Level
	Style     harmony.Style
	StyleWhy  reason.Reason
	Score     score.Score
	Decisions []Decision
	Used      []Use
	Remarks   []Remark // in order
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

// Plan is a song prepared for one level: set, harmonised, cut and with every
// figure that its hands could play. A page can be made from it again and again,
// more plainly each time, at little cost.
type Plan struct{ p *piece }

// Prepare does what all pages of a level share. It returns an error only when the
// context ends or the song cannot be set at all, and is then Refused.
func Prepare(ctx context.Context, song leadsheet.Song, an harmony.Analysis, opt Options) (Plan, error) {
	p, err := set(song, an, opt)
	if err != nil {
		return Plan{}, err
	}
	if err := p.read(ctx); err != nil {
		return Plan{}, err
	}
	return p.prepare(ctx, nil)
}

// WithDensity prepares the same song for the same level at another density. It
// costs less than Prepare: what chords there are to choose from does not depend
// on the density, nor what the hands could play in a cell under the same chord.
func (pl Plan) WithDensity(ctx context.Context, density int) (Plan, error) {
	opt := pl.p.opt
	opt.Density = density
	p, err := set(pl.p.song, pl.p.an, opt)
	if err != nil {
		return Plan{}, err
	}
	p.readings = pl.p.readings
	return p.prepare(ctx, pl.p.cells)
}

// prepare goes on from the readings; earlier are the cells of a plan for the same
// level.
func (p *piece) prepare(ctx context.Context, earlier []cell) (Plan, error) {
	p.harmonise()
	p.pushLine()
	p.cut()
	if err := p.offer(ctx, earlier); err != nil {
		return Plan{}, err
	}
	p.dress()
	return Plan{p}, nil
}

// Plainness says how far a bar has to be simplified, because fuller figures did
// not pass the audit: how often the left hand, the right hand under the tune, and
// the ornaments failed.
type Plainness struct{ Left, Right, Ornaments int }

// Page makes the page. plain lists bars (indexes) that must take simpler figures.
// What had to give way is told in Arrangement.Remarks.
func (pl Plan) Page(ctx context.Context, plain map[int]Plainness) (Arrangement, error) {
	p := pl.p.fresh(plain)
	if err := p.voice(ctx); err != nil {
		return Arrangement{}, err
	}
	p.adorn()
	p.keepPromises()
	s := p.page()
	p.checkChoices(s)
	inOrder(p.remarks)
	return Arrangement{Level: p.level, Style: p.style, StyleWhy: p.styleWhy, Score: s,
		Decisions: p.decisions, Used: p.used(s), Remarks: p.remarks}, nil
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
	an    harmony.Analysis
	opt   Options
	level ladder.Level

	// setting
	tempo    leadsheet.Tempo
	quarters int // a minute
	feel     leadsheet.Feel
	swing    score.Ratio
	style    harmony.Style
	styleWhy reason.Reason
	hand     hand.Profile
	octave   int // by how much the tune was moved

	firstSpan, lastSpan int // of the analysis, that sound; −1: none

	plain map[int]Plainness // bars to be made simpler

	readings   [][]reading // of each span of the analysis
	slots      []slot
	decisions  []Decision
	line       []technique.MelodyNote
	cells      []cell
	adornments []adornment
	signs      map[int]sign // by index into line
	spelling   map[spellKey]theory.Name
	remarks    []Remark
}

// fresh returns a copy of the prepared piece for one more page: what the later
// stages change is its own.
func (p *piece) fresh(plain map[int]Plainness) *piece {
	q := *p
	q.plain = plain
	q.line = slices.Clone(p.line)
	q.cells = slices.Clone(p.cells)
	q.remarks = slices.Clone(p.remarks)
	q.signs = map[int]sign{}
	q.adornments = nil
	q.spelling = map[spellKey]theory.Name{}
	return &q
}

// used lists the techniques of a page with the bars that have them: those of its
// notes, and the devices and colours of its chords.
func (p *piece) used(s score.Score) []Use {
	bars := map[string][]int{}
	add := func(id string, at theory.Dur) {
		if id != "" {
			bars[id] = append(bars[id], s.Bars[s.BarAt(at)].Number)
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
				add(id, s.Bars[b].At)
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

// colours lists the techniques of the level that a chord of the page shows by what
// it has more, or less, than the sheet's.
func (p *piece) colours(sl slot) []string {
	sheet := p.sheetAt(sl.at)
	if sl.chord == sheet {
		return nil
	}
	switch sl.paint {
	case "", "seventh-chords", "extensions", "alterations": // shown by the chord's degrees
	case "added-notes":
		if sl.added == (theory.Degree{}) {
			return nil
		}
		fallthrough
	default:
		return []string{sl.paint}
	}
	var out []string
	for d := range sl.chord.Tones.All() {
		if sheet.Root == sl.chord.Root && sheet.Tones.Has(d) {
			continue
		}
		switch {
		case d.Number == 6 || d.Number == 7:
			out = append(out, "seventh-chords")
		case d.Number > 7 && d.Alter == 0:
			out = append(out, "extensions")
		case d.Alter != 0 && (d.Number > 7 || d.Number == 5 && sl.chord.Dominant()):
			out = append(out, "alterations")
		}
	}
	return slices.DeleteFunc(out, func(id string) bool { return !p.level.Uses(id) })
}

func (p *piece) sheetAt(at theory.Dur) theory.Chord {
	sp, _ := p.an.SpanAt(at)
	return sp.Chord
}
