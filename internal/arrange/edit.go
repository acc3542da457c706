package arrange

import (
	"cmp"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Single notes that the teacher moved, added or took away. The search has chosen its
// figures by then: a note changed changes nothing else.

// edit changes single notes of the chosen figures. What finds no note there may mean an
// ornament, a fill or a run, and is returned.
func (p *piece) edit() (rest []choice.Choice) {
	for _, c := range p.fixed.notes {
		if i := p.cellAt(c.At); i < 0 || !p.editFigure(&p.cells[i], c) {
			rest = append(rest, c)
		}
	}
	return rest
}

// editFigure changes a note of the figures in a cell; ok is false where there is none.
func (p *piece) editFigure(c *cell, by choice.Choice) (ok bool) {
	if a, ok := by.Fix.(choice.Added); ok {
		ts := p.chosen(c, a.Hand).Tones
		p.rewrite(c, a.Hand, by, append(slices.Clone(ts), joining(c, a.Tone, ts)))
		return true
	}
	hand, key := noteOf(by.Fix)
	for _, h := range [...]score.Hand{score.Left, score.Right} {
		ts := p.chosen(c, h).Tones
		if k := struckAt(ts, by.At, key); k >= 0 && (hand == 0 || hand == h) {
			p.rewrite(c, h, by, altered(ts, k, by.Fix))
			return true
		}
	}
	return false
}

// chosen is the figure that a hand has in a cell.
func (p *piece) chosen(c *cell, h score.Hand) *technique.Figure {
	if h == score.Left {
		return &c.chosenLeft
	}
	return &c.chosenRight
}

// noteOf returns which note a fix is about.
func noteOf(f choice.Fix) (h score.Hand, key int) {
	switch f := f.(type) {
	case choice.TakenAway:
		return f.Hand, f.Pitch.MIDI()
	case choice.Moved:
		return f.Hand, f.From.MIDI()
	}
	return 0, 0
}

// struckAt is the place of a key that is struck at a moment; −1: it is not.
func struckAt(ts []technique.Tone, at theory.Dur, key int) int {
	return slices.IndexFunc(ts, func(t technique.Tone) bool { return t.At == at && t.Pitch.MIDI() == key })
}

// joining is an added tone with a length: that of what is struck with it, else until the
// hand's next strike, else to the end of the cell.
func joining(c *cell, t technique.Tone, ts []technique.Tone) technique.Tone {
	if t.Dur > 0 || t.Grace > 0 {
		return t
	}
	end := c.End
	for _, u := range ts {
		if u.At == t.At && u.Grace == 0 {
			t.Dur = u.Dur
			return t
		}
		if u.At > t.At {
			end = min(end, u.At)
		}
	}
	t.Dur = end - t.At
	return t
}

// altered returns the tones with the k-th moved or taken away.
func altered(ts []technique.Tone, k int, f choice.Fix) []technique.Tone {
	ts = slices.Clone(ts)
	m, ok := f.(choice.Moved)
	if !ok {
		return slices.Delete(ts, k, k+1)
	}
	t := &ts[k]
	t.At, t.Pitch, t.Kind = m.To.At, m.To.Pitch, m.To.Kind
	if m.To.Dur > 0 {
		t.Dur = m.To.Dur
	}
	return ts
}

// rewrite gives a hand other tones in a cell, if they can be played there.
func (p *piece) rewrite(c *cell, h score.Hand, by choice.Choice, ts []technique.Tone) {
	slices.SortStableFunc(ts, func(a, b technique.Tone) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Pitch.MIDI(), b.Pitch.MIDI()))
	})
	f := *p.chosen(c, h)
	f.Tones = ts
	o := p.written(c, h, f, "")
	left, right := o, p.written(c, score.Right, c.chosenRight, "")
	admit := p.admitLeft
	if h == score.Right {
		left, right, admit = p.written(c, score.Left, c.chosenLeft, ""), o, p.admitRight
	}
	broken := breach{}
	if len(ts) > 0 {
		broken = admit(c, o)
	}
	if _, ok := p.together(c, left, right); !ok && broken == (breach{}) {
		broken = breach{handsMeet, by.At}
	}
	if broken != (breach{}) {
		p.refuse(by, broken.at, "choice-impossible.note", "Why", broken.rule.why())
		return
	}
	p.chosen(c, h).Tones = o.Tones
}

// editOrnaments changes notes of ornaments, fills and runs, and tells what is left: there
// is no such note, or it is the tune's.
func (p *piece) editOrnaments(rest []choice.Choice) {
	for _, c := range rest {
		hand, key := noteOf(c.Fix)
		if hand != score.Left && p.editOrnament(c, key) {
			continue
		}
		why := leadsheet.Saying("choice-impossible.no-note")
		if slices.ContainsFunc(p.line, func(n technique.MelodyNote) bool { return n.At == c.At && n.Pitch.MIDI() == key }) {
			why = "choice-impossible.tunes-note"
		}
		p.refuse(c, c.At, why)
	}
}

func (p *piece) editOrnament(c choice.Choice, key int) bool {
	for i := range p.adornments {
		a := &p.adornments[i]
		if k := struckAt(a.Tones, c.At, key); k >= 0 {
			a.Tones = altered(a.Tones, k, c.Fix)
			return true
		}
	}
	return false
}
