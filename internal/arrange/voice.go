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
		p.cells[i].chosenLeft, p.cells[i].leftBy = l.Figure, l.by
		p.cells[i].chosenRight, p.cells[i].rightBy = r.Figure, r.by
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
	type step struct{ fromLeft, fromRight []int16 }
	steps := make([]step, n)
	var cost []int
	for i := range n {
		A, B := len(lefts[i]), len(rights[i])
		next := make([]int, A*B)
		steps[i] = step{make([]int16, A*B), make([]int16, A*B)}
		var mid []int // min over the previous left, by (left, previous right)
		var midFrom []int16
		PB := 0
		if i > 0 {
			PA := len(lefts[i-1])
			PB = len(rights[i-1])
			moves := make([]int, A*PA)
			for a := range A {
				for q := range PA {
					moves[a*PA+q] = p.moveLeft(&p.cells[i-1], lefts[i-1][q].option, &p.cells[i], lefts[i][a].option)
				}
			}
			mid, midFrom = fill(A*PB), make([]int16, A*PB)
			for a := range A {
				for q := range PA {
					m := moves[a*PA+q]
					if m >= never {
						continue
					}
					for r := range PB {
						if v := cost[q*PB+r] + m; v < mid[a*PB+r] {
							mid[a*PB+r], midFrom[a*PB+r] = v, int16(q)
						}
					}
				}
			}
		}
		var turns []int
		if i > 0 {
			turns = make([]int, B*PB)
			for b := range B {
				for r := range PB {
					turns[b*PB+r] = p.moveRight(&p.cells[i-1], rights[i-1][r].option, &p.cells[i], rights[i][b].option)
				}
			}
		}
		for a := range A {
			for b := range B {
				k := a*B + b
				next[k] = never
				both, ok := p.together(&p.cells[i], lefts[i][a].option, rights[i][b].option)
				if !ok {
					continue
				}
				both += lefts[i][a].cost + rights[i][b].cost
				if i == 0 {
					next[k] = both
					continue
				}
				for r := range PB {
					if mid[a*PB+r] >= never || turns[b*PB+r] >= never {
						continue
					}
					if v := mid[a*PB+r] + turns[b*PB+r] + both; v < next[k] {
						next[k] = v
						steps[i].fromRight[k], steps[i].fromLeft[k] = int16(r), midFrom[a*PB+r]
					}
				}
			}
		}
		cost = next
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
			p.note(leadsheet.Warning, c.At, "left-hand-rests", "the tune leaves the left hand no room for "+c.Chord.Pretty()+": it rests",
				"move the tune up an octave or choose another key")
		}
	}
}
