package arrange

import (
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
)

// deal is what each hand may play in a cell. Two cells with one deal are alike in all
// that the search looks at.
type deal struct {
	left, right []candidate
	locked      bool               // it is played as it stands
	by          choice.Choice      // who says so, where a hand has no choice
	free        *deal              // what there was to choose from before
	told        leadsheet.Problems // choices that the cell does not admit
}

// dealt lists what each hand may play in a cell: what the search may choose from, or
// what the teacher has chosen.
func (p *piece) dealt(i int) *deal {
	c := &p.cells[i]
	if l := p.fixed.locks[c.bar]; l != nil {
		return p.lockedDeal(l, c)
	}
	d := &deal{left: p.leftOptions(i), right: p.rightOptions(i)}
	for _, h := range p.fixed.figures {
		if h.at < c.End && h.until > c.At {
			p.fixFigure(c, d, h)
		}
	}
	return d
}

// figures lists every figure of a hand that a cell admits, at its price: those, too,
// that are not worth a search of their own, and silence.
func (p *piece) figures(c *cell, h score.Hand) []candidate {
	var out []candidate
	if c.slot >= 0 && !c.Chord.Silent() {
		var d desk
		offers, st := c.leftOffers, technique.LeftHand
		if h == score.Right {
			offers, st = c.rightOffers, technique.RightHand
		}
		for k := range offers {
			os := own(p.tried(&d, c, offers[k].by, st))
			all := make([]candidate, len(os))
			for i := range os {
				all[i] = p.costed(&os[i])
			}
			out = p.priced(out, c, h, k, all)
		}
	}
	return append(out, p.restOf(c, h))
}

// costed is an option at this page's density.
func (p *piece) costed(o *option) candidate {
	return o.at(p.opt.Density)
}

// fixFigure leaves a hand nothing but the figure that the teacher chose. Of a figure
// for a whole bar a cell takes its part.
func (p *piece) fixFigure(c *cell, d *deal, h held[choice.Figure]) {
	want := choice.Figure{Hand: h.what.Hand, By: h.what.By}
	for _, t := range h.what.Tones {
		if t.At >= c.At && t.At < c.End {
			want.Tones = append(want.Tones, t)
		}
	}
	if h.at > c.At && len(want.Tones) == 0 {
		return // it begins later in the cell
	}
	var found []candidate
	for _, f := range p.figures(c, want.Hand) {
		if is(f.option, want) {
			found = append(found, f)
		}
	}
	if len(found) == 0 {
		o, broken := p.byHand(c, want)
		if broken != (breach{}) {
			d.told = append(d.told, p.refusal(h.by, broken.at, "choice-impossible.figure", "Why", broken.rule.why()))
			return
		}
		found = []candidate{p.costed(o)}
	}
	if d.free == nil {
		d.free = &deal{left: d.left, right: d.right}
	}
	d.by = h.by
	if want.Hand == score.Left {
		d.left = keep(found)
	} else {
		d.right = keep(found)
	}
}

// is tells whether an option is the figure that is wanted. A figure that names no
// technique may be of any, a tone that says not what it is for, for anything.
func is(o *option, want choice.Figure) bool {
	if len(o.Tones) != len(want.Tones) || want.By != "" && want.By != o.by {
		return false
	}
	for k, t := range o.Tones {
		w := want.Tones[k]
		if t.At != w.At || t.Dur != w.Dur || o.keys[k] != w.Pitch.MIDI() || t.Grace != w.Grace || w.Kind != 0 && (t.Kind != w.Kind || t.Marks != w.Marks) {
			return false
		}
	}
	return true
}

// byHand makes an option of a figure that no technique offers.
func (p *piece) byHand(c *cell, want choice.Figure) (*option, breach) {
	o := p.written(c, want.Hand, technique.Figure{Tones: slices.Clone(want.Tones)}, want.By)
	if len(o.Tones) == 0 {
		return o, breach{}
	}
	admit := p.admitLeft
	if want.Hand == score.Right {
		admit = p.admitRight
	}
	broken := admit(c, o)
	return o, broken
}

// written makes an option of notes as they stand.
func (p *piece) written(c *cell, h score.Hand, f technique.Figure, by string) *option {
	if f.Say == nil {
		f.Say = teachers
	}
	f.Holds = h == score.Left && holdsLowest(f.Tones)
	o := &option{Figure: &f, Tones: f.Tones, by: by}
	for k := range f.Tones {
		t := &f.Tones[k]
		if t.Kind == 0 {
			t.Kind = purpose(c, h, *t, f.Tones)
		}
		o.keys = append(o.keys, t.Pitch.MIDI())
	}
	if len(f.Tones) > 0 {
		c.describe(o)
	}
	return o
}

// holdsLowest tells whether a lowest note is held past another that is struck with it.
func holdsLowest(ts []technique.Tone) bool {
	for _, t := range ts {
		for _, u := range ts {
			if u.At == t.At && u.Pitch.MIDI() > t.Pitch.MIDI() && u.Dur < t.Dur {
				return true
			}
		}
	}
	return false
}

// teachers is what is said of a note that the teacher wrote.
const teachers = reason.Fact("teachers-notes")

// lockedDeal leaves both hands what a locked bar has in a cell.
func (p *piece) lockedDeal(l *lock, c *cell) *deal {
	d := &deal{by: l.by, locked: true}
	f, by := l.figure(score.Left, c)
	d.left = []candidate{{p.written(c, score.Left, f, by), 0}}
	f, by = l.figure(score.Right, c)
	d.right = []candidate{{p.written(c, score.Right, f, by), 0}}
	return d
}
