package arrange

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"

	"gradatim/score"
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
// of the piece and all costs are integers. Of equals that one wins which, read
// from the end, has the earlier right-hand figure, then the earlier left-hand
// one.
//
// What any figure would cost the whole piece is the cheapest way to it, kept from
// that pass, and the cheapest way on from it, which the same step gives when it is
// taken backwards: exact, and without another search.
//
// A change stays small: what is kept of a cell is counted from its cheapest pair,
// so that two searches that differ in one cell have equal tables again as soon as
// all their ways have met, usually within a few bars. There the new search ends
// and shares the rest of the old.
//
// Rejected: the hands one after the other (the left then has to give way where
// the right could have), sampling or beam search (no faster at this size, and not
// exact), and searching again for each runner-up (as exact, and a search each).

// maxFigures bounds the figures that one hand keeps for one cell, cheapest
// first.
const maxFigures = 24

// absent is the cost of an edge that is not there.
const absent = 1 << 29

// lattice is the search over a row of cells. It is never changed; one that differs in
// a few cells shares the rest.
type lattice struct {
	p     *piece // whose rules and costs hold
	cells []cell
	nodes []*node
	rests []*rest // nil: not asked for yet
}

// node is a cell with the cheapest way to each pair of its figures. Tables are by left
// figure, then right.
type node struct {
	*deal
	here      []int32 // the pair's own costs and what its hands cost each other
	sum       []int32 // cheapest way to and with the pair, above that of the cell's cheapest pair
	floor     int     // what the cell's cheapest pair costs more than the cheapest of the cell before
	fromLeft  []uint8 // the pair before
	fromRight []uint8
}

// rest is the cheapest way on from each pair of a cell, above the least of them.
type rest struct {
	sum   []int32
	floor int // the least, less that of the cell after
}

// bench is where one step of a search is worked out; steps use it in turn.
type bench struct {
	mid   []int32 // by a figure of the left hand on one side of the step, of the right on the other
	from  []uint8
	turns []int32 // moves of the right hand
}

func (b *bench) grow(a, n int) {
	if len(b.mid) < a {
		b.mid, b.from = make([]int32, a), make([]uint8, a)
	}
	if len(b.turns) < n {
		b.turns = make([]int32, n)
	}
}

// search finds the cheapest ways through the cells of a piece. It shares with an
// earlier search over nearly the same cells what holds of it; nil: there is none.
// dead is the first cell that no pair reaches; −1: none, as it is where each hand may
// rest.
func (p *piece) search(ctx context.Context, earlier *lattice) (l *lattice, dead int, err error) {
	l = &lattice{p: p, cells: p.cells, nodes: make([]*node, len(p.cells))}
	twins := l.twins(earlier)
	var t bench
	met := true // the ways to the cell before are those to its twin
	for i := range l.cells {
		if err := context.Cause(ctx); err != nil {
			return nil, -1, err
		}
		n := &node{deal: l.cells[i].deal}
		if k := twins[i]; k >= 0 {
			old := earlier.nodes[k]
			if met && twinned(twins, i, -1) {
				l.nodes[i] = old
				continue
			}
			n.here = old.here
		} else {
			n.here = l.pairs(i, n.deal)
		}
		if l.nodes[i] = n; !l.arrive(&t, i, n) {
			return l, i, nil
		}
		met = twins[i] >= 0 && slices.Equal(n.sum, earlier.nodes[twins[i]].sum)
	}
	return l, -1, nil
}

// searched is a search that finds a way: a figure of the teacher's that cannot be
// reached, or that no figure of the other hand goes with, is told and let go.
func (p *piece) searched(ctx context.Context, earlier *lattice) (*lattice, error) {
	q := *p
	for {
		l, dead, err := q.search(ctx, earlier)
		if err != nil || dead < 0 {
			return l, err
		}
		i := dead
		if q.cells[i].deal.free == nil {
			i-- // it stands before what is locked
		}
		if i < 0 || q.cells[i].deal.free == nil { // nobody chose here: of figures none of which go together, one rests
			if !q.rests(dead) {
				return nil, errors.New("arrange: no figures go together")
			}
			continue
		}
		rule := tooFarAway
		if !slices.ContainsFunc(l.nodes[dead].here, func(v int32) bool { return v < absent }) {
			rule = handsMeet
		}
		q.cells = slices.Clone(q.cells)
		d := q.cells[i].deal
		free := *d.free
		free.told = append(slices.Clone(d.told), p.refusal(d.by, q.cells[dead].At, "choice-impossible.figure", "Why", rule.why()))
		q.cells[i].deal = &free
	}
}

// rests gives the hands of a cell their silence, which dear as it is may have been left out of
// what they have; ok is false where they have it.
func (p *piece) rests(i int) (ok bool) {
	d := *p.cells[i].deal
	with := func(os []candidate, h score.Hand) []candidate {
		if slices.ContainsFunc(os, func(o candidate) bool { return len(o.Tones) == 0 }) {
			return os
		}
		ok = true
		return append(slices.Clone(os), p.restOf(&p.cells[i], h))
	}
	d.left, d.right = with(d.left, score.Left), with(d.right, score.Right)
	p.cells = slices.Clone(p.cells)
	p.cells[i].deal = &d
	return ok
}

// twins finds for each cell the one of an earlier search that was dealt the same; −1:
// none.
func (l *lattice) twins(earlier *lattice) []int {
	out := make([]int, len(l.cells))
	k := 0
	for i := range l.cells {
		out[i] = -1
		if earlier == nil {
			continue
		}
		for k < len(earlier.cells) && earlier.cells[k].At < l.cells[i].At {
			k++
		}
		if k < len(earlier.cells) && earlier.cells[k].At == l.cells[i].At && earlier.cells[k].deal == l.cells[i].deal {
			out[i] = k
		}
	}
	// The first and the last cell have no neighbour, as their twins must have none.
	if n := len(out) - 1; n >= 0 {
		if out[0] > 0 {
			out[0] = -1
		}
		if out[n] >= 0 && out[n] != len(earlier.cells)-1 {
			out[n] = -1
		}
	}
	return out
}

// twinned tells whether the neighbour of a cell on one side is the neighbour of its
// twin.
func twinned(twins []int, i, side int) bool {
	if i+side < 0 || i+side == len(twins) {
		return true
	}
	return twins[i+side] == twins[i]+side
}

// pairs tabulates what two figures of a cell cost by themselves and together.
func (l *lattice) pairs(i int, d *deal) []int32 {
	B := len(d.right)
	out := make([]int32, len(d.left)*B)
	if d.locked {
		return out
	}
	for a := range d.left {
		for b := range d.right {
			out[a*B+b] = absent
			if both, ok := l.p.together(&l.cells[i], d.left[a].option, d.right[b].option); ok {
				out[a*B+b] = int32(both + d.left[a].cost + d.right[b].cost)
			}
		}
	}
	return out
}

// arrive fills in the cheapest ways to the pairs of a cell from those of the cell
// before it; ok is false where there is none.
func (l *lattice) arrive(t *bench, i int, n *node) (ok bool) {
	A, B := len(n.left), len(n.right)
	n.sum, n.fromLeft, n.fromRight = make([]int32, A*B), make([]uint8, A*B), make([]uint8, A*B)
	if i == 0 {
		copy(n.sum, n.here)
		return n.ground()
	}
	w, prev := l.p.weigh(), l.nodes[i-1]
	PB := len(prev.right)
	t.grow(A*PB, B*PB)
	mid, from, turns := t.mid[:A*PB], t.from[:A*PB], t.turns[:B*PB]
	for a := range n.left {
		row, by := mid[a*PB:(a+1)*PB], from[a*PB:(a+1)*PB]
		for r := range row {
			row[r] = absent
		}
		for q := range prev.left {
			sums := prev.sum[q*PB : (q+1)*PB]
			if !betters(row, sums, w.leastLeft(&prev.left[q], &n.left[a])) {
				continue
			}
			move := l.goLeft(i, &prev.left[q], &n.left[a])
			if move >= absent {
				continue
			}
			for r, before := range sums {
				if v := before + move; v < row[r] {
					row[r], by[r] = v, uint8(q)
				}
			}
		}
	}
	for b := range n.right {
		for r := range prev.right {
			turns[b*PB+r] = l.goRight(&prev.right[r], &n.right[b])
		}
	}
	for a := range n.left {
		row, by := mid[a*PB:(a+1)*PB], from[a*PB:(a+1)*PB]
		for b := range n.right {
			k := a*B + b
			n.sum[k] = absent
			if n.here[k] >= absent {
				continue
			}
			best, at := int32(absent), 0
			for r, turn := range turns[b*PB : (b+1)*PB] {
				if v := row[r] + turn; v < best {
					best, at = v, r
				}
			}
			if best < absent {
				n.sum[k] = best + n.here[k]
				n.fromLeft[k], n.fromRight[k] = by[at], uint8(at)
			}
		}
	}
	return n.ground()
}

// betters tells whether some sums and a cost of at least so much give less than what is
// there.
func betters(there, sums []int32, least int32) bool {
	for k, v := range sums {
		if v+least < there[k] {
			return true
		}
	}
	return false
}

// leastLeft is what goLeft costs at least: the leap. Between locked cells it costs nothing,
// but there is only one way, which is always looked at.
func (w *weights) leastLeft(a, b *candidate) int32 {
	if len(a.keys) == 0 || len(b.keys) == 0 {
		return 0
	}
	return int32(w.Leap * abs(b.keys[0]-a.keys[0]) / eighth)
}

// ground counts a node's sums from the least of them.
func (n *node) ground() (ok bool) {
	n.floor, ok = ground(n.sum)
	return ok
}

// ground takes from a table its least, and returns it; ok is false where all is absent.
func ground(sums []int32) (floor int, ok bool) {
	least := int32(absent)
	for _, v := range sums {
		least = min(least, v)
	}
	if least >= absent {
		return 0, false
	}
	for k := range sums {
		if sums[k] < absent {
			sums[k] -= least
		}
	}
	return int(least), true
}

// goLeft and goRight are the moves of a hand into cell i. What is locked on both sides
// is played as it stands.
func (l *lattice) goLeft(i int, a, b *candidate) int32 {
	if l.cells[i-1].deal.locked && l.cells[i].deal.locked {
		return 0
	}
	return int32(min(l.p.moveLeft(&l.cells[i-1], a.option, &l.cells[i], b.option), absent))
}

func (l *lattice) goRight(a, b *candidate) int32 {
	return int32(l.p.moveRight(a.option, b.option))
}

// waysOn returns the cheapest ways on from every cell; those that an earlier search
// has found are shared as far as they hold.
func (l *lattice) waysOn(ctx context.Context, earlier *lattice) ([]*rest, error) {
	out := make([]*rest, len(l.nodes))
	twins := l.twins(earlier)
	var t bench
	met := true // the ways on from the cell after are those from its twin
	for i := len(out) - 1; i >= 0; i-- {
		if err := context.Cause(ctx); err != nil {
			return nil, err
		}
		k := twins[i]
		if k >= 0 && met && twinned(twins, i, 1) {
			out[i] = earlier.rests[k]
			continue
		}
		out[i] = l.leave(&t, i, l.nodes[i].deal, out)
		met = k >= 0 && slices.Equal(out[i].sum, earlier.rests[k].sum)
	}
	return out, nil
}

// leave returns the ways on from the pairs of a deal in cell i, by those from the cell
// after it.
func (l *lattice) leave(t *bench, i int, d *deal, rests []*rest) *rest {
	A, B := len(d.left), len(d.right)
	out := &rest{sum: make([]int32, A*B)}
	if i == len(l.nodes)-1 {
		return out
	}
	n, after := l.nodes[i+1], rests[i+1]
	NB := len(n.right)
	t.grow(A*NB, B*NB)
	mid, turns := t.mid[:A*NB], t.turns[:B*NB]
	for a := range d.left {
		row := mid[a*NB : (a+1)*NB]
		for b := range row {
			row[b] = absent
		}
		for q := range n.left {
			move := l.goLeft(i+1, &d.left[a], &n.left[q])
			if move >= absent {
				continue
			}
			for b := range row {
				k := q*NB + b
				if n.here[k] < absent && after.sum[k] < absent {
					row[b] = min(row[b], move+n.here[k]+after.sum[k])
				}
			}
		}
	}
	for b := range d.right {
		for r := range n.right {
			turns[b*NB+r] = l.goRight(&d.right[b], &n.right[r])
		}
	}
	for a := range d.left {
		row := mid[a*NB : (a+1)*NB]
		for b := range d.right {
			best := int32(absent)
			for r, turn := range turns[b*NB : (b+1)*NB] {
				best = min(best, row[r]+turn)
			}
			out.sum[a*B+b] = best
		}
	}
	out.floor, _ = ground(out.sum)
	return out
}

// withRests returns the search with the ways on from every cell; earlier is a search
// over nearly the same cells that has them, or nil.
func (l *lattice) withRests(ctx context.Context, earlier *lattice) (*lattice, error) {
	out := *l
	var err error
	out.rests, err = l.waysOn(ctx, earlier)
	return &out, err
}

// kept is a search that is made when it is first asked for.
type kept struct {
	turn chan struct{} // one at a time makes it
	made atomic.Pointer[lattice]
	make func(context.Context) (*lattice, error)
}

func keeping(search func(context.Context) (*lattice, error)) *kept {
	return &kept{turn: make(chan struct{}, 1), make: search}
}

// get returns the search. Where a context ends, nobody has made it; the next who asks
// begins again.
func (k *kept) get(ctx context.Context) (*lattice, error) {
	if l := k.made.Load(); l != nil {
		return l, nil
	}
	select {
	case k.turn <- struct{}{}:
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
	defer func() { <-k.turn }()
	if l := k.made.Load(); l != nil {
		return l, nil
	}
	l, err := k.make(ctx)
	if err != nil {
		return nil, err
	}
	k.made.Store(l)
	k.make = nil // with all that it holds
	return l, nil
}

// peek returns the search if it was made; else nil.
func (k *kept) peek() *lattice { return k.made.Load() }

// cost is what the cheapest whole costs.
func (l *lattice) cost() int {
	sum := 0
	for _, n := range l.nodes {
		sum += n.floor
	}
	return sum
}

// path returns the chosen figure of each hand in each cell.
func (l *lattice) path() (left, right []int) {
	n := len(l.nodes)
	left, right = make([]int, n), make([]int, n)
	if n == 0 {
		return left, right
	}
	last := l.nodes[n-1]
	a, b := 0, 0
	for r := range last.right {
		for q := range last.left {
			if B := len(last.right); last.sum[q*B+r] < last.sum[a*B+b] {
				a, b = q, r
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		left[i], right[i] = a, b
		k := a*len(l.nodes[i].right) + b
		a, b = int(l.nodes[i].fromLeft[k]), int(l.nodes[i].fromRight[k])
	}
	return left, right
}

// through returns, for every pair of a deal in cell i, how much dearer than the
// cheapest whole the cheapest one with that pair is; absent where none has it. The
// deal need not be the one that was searched. The ways on must be known.
func (l *lattice) through(i int, d *deal) []int32 {
	var t bench
	n := &node{deal: d, here: l.pairs(i, d)}
	l.arrive(&t, i, n)
	on := l.leave(&t, i, d, l.rests)
	least := int32(absent) // of the pairs that were searched
	for k, v := range l.nodes[i].sum {
		if w := l.rests[i].sum[k]; v < absent && w < absent {
			least = min(least, v+w)
		}
	}
	// The cheapest whole has its floors; here those of one cell are others.
	least -= int32(n.floor + on.floor - l.nodes[i].floor - l.rests[i].floor)
	out := make([]int32, len(n.sum))
	for k, v := range n.sum {
		out[k] = absent
		if w := on.sum[k]; v < absent && w < absent {
			out[k] = v + w - least
		}
	}
	return out
}
