package arrange

import (
	"context"

	"gradatim/leadsheet"
)

// voice chooses the notes of both hands.
func (p *piece) voice(ctx context.Context) error {
	l, err := p.base.get(ctx)
	if err != nil {
		return err
	}
	ls, rs := l.path()
	for i := range p.cells {
		c, d := &p.cells[i], l.cells[i].deal
		c.deal = d
		left, right := d.left[ls[i]], d.right[rs[i]]
		c.chosenLeft, c.leftBy = left.figure(), left.by
		c.chosenRight, c.rightBy = right.figure(), right.by
		p.remarks = append(p.remarks, d.told...)
	}
	p.report()
	return nil
}

// report tells where the left hand had to give way.
func (p *piece) report() {
	for i := range p.cells {
		c := &p.cells[i]
		if c.slot >= 0 && !c.Chord.Silent() && len(c.chosenLeft.Tones) == 0 && c.deal.free == nil && !c.deal.locked {
			p.remark(leadsheet.Warning, c.At, "left-hand-rests", "Chord", c.Chord)
		}
	}
}
