package arrange

import (
	"context"

	"gradatim/leadsheet"
)

// Choosing the notes of both hands together.
//
// Problem: each cell (a stretch of a bar under one chord) can be filled by many
// figures in each hand. A figure has a cost of its own, the two hands of a cell
// bear on each other (crossing, minor ninths, the gap between them), and so do
// neighbouring figures of one hand (how far the hand moves, how the voices lead,
// whether a line arrives where it was led).
//
// Objective: the least sum over the piece of
//
//	own(left) + own(right) + together(left, right) + move(left, left′) + move(right, right′)
//
// where a broken rule of playing is not a cost but an absent edge.
//
// Method: exact shortest path. As the moves of the two hands are independent of
// one another, the minimum over a pair of figures separates into two minima over
// one figure each:
//
//	F′(a′,b′) = own + together(a′,b′) + min_b [ min_a F(a,b) + move(a,a′) ] + move(b,b′)
//
// so a step costs O(A²B + AB²) instead of O(A²B²), with A and B at most
// maxFigures: about 25 000 additions a cell. The whole is linear in the length
// of the piece, all costs are integers, and of equals the earlier figure wins.
//
// Rejected: the hands one after the other (the left then has to give way where
// the right could have), and sampling or beam search (no faster at this size,
// and not exact).

// maxFigures bounds the figures that one hand keeps for one cell, cheapest
// first.
const maxFigures = 24

func (p *piece) voice(ctx context.Context) error {
	n := len(p.cells)
	lefts, rights := make([][]candidate, n), make([][]candidate, n)
	for i := range p.cells {
		lefts[i], rights[i] = p.leftOptions(i), p.rightOptions(i)
	}
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	ls, rs := p.cheapestPair(lefts, rights)
	for i := range p.cells {
		l, r := lefts[i][ls[i]], rights[i][rs[i]]
		p.cells[i].chosenLeft, p.cells[i].leftBy = *l.Figure, l.by
		p.cells[i].chosenRight, p.cells[i].rightBy = *r.Figure, r.by
	}
	p.report()
	return nil
}

// cheapestPair runs the search and returns the chosen option of each hand in
// each cell.
func (p *piece) cheapestPair(lefts, rights [][]candidate) (ls, rs []int) {
	n := len(lefts)
	ls, rs = make([]int, n), make([]int, n)
	if n == 0 {
		return ls, rs
	}
	type step struct{ fromLeft, fromRight []uint8 }
	steps := make([]step, n)
	// Tables of one step: cost so far by (left, right), the same with the left hand
	// moved on already, and the moves of the right hand.
	const most = maxFigures * maxFigures
	cost, next := make([]int, 0, most), make([]int, 0, most)
	mid, midFrom := make([]int, most), make([]uint8, most)
	turns := make([]int, most)
	for i := range n {
		c, left, right := &p.cells[i], lefts[i], rights[i]
		A, B, PB := len(left), len(right), 0
		steps[i] = step{make([]uint8, A*B), make([]uint8, A*B)}
		if i > 0 {
			pc, prevLeft, prevRight := &p.cells[i-1], lefts[i-1], rights[i-1]
			PB = len(prevRight)
			for a := range left {
				row, from := mid[a*PB:(a+1)*PB], midFrom[a*PB:(a+1)*PB]
				for r := range row {
					row[r] = never
				}
				for q := range prevLeft {
					move := p.moveLeft(pc, prevLeft[q].option, c, left[a].option)
					if move >= never {
						continue
					}
					for r, before := range cost[q*PB : (q+1)*PB] {
						if v := before + move; v < row[r] {
							row[r], from[r] = v, uint8(q)
						}
					}
				}
			}
			for b := range right {
				for r := range prevRight {
					turns[b*PB+r] = p.moveRight(prevRight[r].option, right[b].option)
				}
			}
		}
		next = next[:A*B]
		for a := range left {
			before := mid[a*PB : (a+1)*PB]
			for b := range right {
				k := a*B + b
				next[k] = never
				both, ok := p.together(c, left[a].option, right[b].option)
				if !ok {
					continue
				}
				both += left[a].cost + right[b].cost
				if i == 0 {
					next[k] = both
					continue
				}
				best, from := never, 0
				for r, turn := range turns[b*PB : (b+1)*PB] {
					if v := before[r] + turn; v < best {
						best, from = v, r
					}
				}
				if best < never {
					next[k] = best + both
					steps[i].fromRight[k], steps[i].fromLeft[k] = uint8(from), midFrom[a*PB+from]
				}
			}
		}
		cost, next = next, cost
	}
	best := 0
	for k, v := range cost {
		if v < cost[best] {
			best = k
		}
	}
	for i := n - 1; i >= 0; i-- {
		B := len(rights[i])
		ls[i], rs[i] = best/B, best%B
		if i > 0 {
			best = int(steps[i].fromLeft[best])*len(rights[i-1]) + int(steps[i].fromRight[best])
		}
	}
	return ls, rs
}

// report tells where the left hand had to give way.
func (p *piece) report() {
	for i := range p.cells {
		c := &p.cells[i]
		if c.slot >= 0 && !c.Chord.Silent() && c.leftBy == "" {
			p.remark(leadsheet.Warning, c.At, "left-hand-rests", "Chord", c.Chord)
		}
	}
}
