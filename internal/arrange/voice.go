package arrange

import (
	"context"

	"gradatim/leadsheet"
)

// voice chooses the notes of both hands.
func (p *piece) voice(ctx context.Context) error {
	earlier := p.base()
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	l := earlier
	if len(p.plain) > 0 {
		for i := range p.cells {
			if p.plain[p.cells[i].bar] != (Plainness{}) {
				p.cells[i].deal = p.dealt(i)
			}
		}
		l, _ = p.search(earlier)
	}
	ls, rs := l.path()
	for i := range p.cells {
		l, r := p.cells[i].deal.left[ls[i]], p.cells[i].deal.right[rs[i]]
		p.cells[i].chosenLeft, p.cells[i].leftBy = *l.Figure, l.by
		p.cells[i].chosenRight, p.cells[i].rightBy = *r.Figure, r.by
	}
	p.report()
	return nil
}

// dealt lists what each hand may play in a cell.
func (p *piece) dealt(i int) *deal { return &deal{p.leftOptions(i), p.rightOptions(i)} }

// report tells where the left hand had to give way.
func (p *piece) report() {
	for i := range p.cells {
		c := &p.cells[i]
		if c.slot >= 0 && !c.Chord.Silent() && c.leftBy == "" {
			p.note(leadsheet.Warning, c.At, "left-hand-rests", "the tune leaves the left hand no room for "+c.Chord.Pretty()+": it rests",
				"move the tune up an octave or choose another key")
		}
	}
}
