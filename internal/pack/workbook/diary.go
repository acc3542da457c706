package workbook

import (
	"gradatim/internal/engrave/vector"
)

// fewestRows is how many rows a diary has at least.
const fewestRows = 4

// diary rules what is left of a level's last page for notes of the player's own: when it
// was practised, what, how fast, and which fingers she takes. Where less than a few rows
// are left it has a page of its own.
func (b *book) diary() {
	if len(b.block) > 0 {
		b.settle()
	}
	row := b.body * 2.4
	head := b.headingLines(1, b.say("diary"), 0, b.full())
	high := 0.0
	for _, p := range head {
		high += p.gap + p.height
	}
	high += b.body*b.leading + 2
	if b.open == nil || b.y+high+fewestRows*row > b.bottom {
		b.turn()
	}
	for _, p := range head {
		b.add(p)
	}
	parts := []float64{0.13, 0.2, 0.2, 0.47} // of the width
	names := b.words.Lines("book.diary-columns")
	var columns [][]piece
	x := 0.0
	for i, name := range names {
		width := parts[i] * b.full()
		columns = append(columns, b.lines(para{x: x, width: width}, seg{text: name, face: b.lean}))
		x += width
	}
	labels := beside(1, true, columns...)
	b.block = append(b.block, labels)
	used := labels.height + labels.gap
	for _, p := range b.block[:len(b.block)-1] {
		used += p.height + p.gap
	}
	rows := int((b.bottom - b.y - used - 1) / row)
	b.add(piece{height: float64(rows) * row, draw: func(y float64) []*vector.Group {
		g := &vector.Group{} // without a tag: nothing to read aloud
		line := func(x1, y1, x2, y2 float64) {
			p := &vector.Path{}
			p.MoveTo(x1, y1)
			p.LineTo(x2, y2)
			g.Add(&vector.Shape{Path: p, Stroke: vector.Ink, Width: 0.12})
		}
		left := b.paper.Side
		for i := range rows + 1 {
			line(left, y+float64(i)*row, left+b.full(), y+float64(i)*row)
		}
		x := left
		for _, part := range parts[:len(parts)-1] {
			x += part * b.full()
			line(x-1.5, y, x-1.5, y+float64(rows)*row)
		}
		return []*vector.Group{g}
	}})
	b.close()
}
