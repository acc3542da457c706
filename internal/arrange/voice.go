package arrange

import (
	"cmp"
	"context"
	"math/bits"
	"slices"

	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
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

// option is a figure that passed the hard rules of its own cell.
type option struct {
	technique.Figure
	by    string // technique id; "" is silence
	cost  int
	all   uint16 // pitch classes of the figure
	early uint16 // pitch classes that sound in the first half of the chord's span
	shape uint64 // the figure's own pattern, wherever it stands
	lacks int    // guide tones that the other hand would have to supply
}

// rank orders options before the search: by cost, those first that say which
// chord it is.
func (o option) rank() int { return o.cost + o.lacks*vague/2 }

// offer collects, once for all pages, what each hand could play in each cell.
func (p *piece) offer(ctx context.Context) error {
	for i := range p.cells {
		if i%64 == 0 && ctx.Err() != nil {
			return context.Cause(ctx)
		}
		c := &p.cells[i]
		if c.slot < 0 || c.Chord.Silent() {
			continue
		}
		c.leftOffers = p.offersOf(c, p.level.LeftAll(), technique.LeftHand)
		c.rightOffers = p.offersOf(c, p.level.Right, technique.RightHand)
	}
	return nil
}

// offers are the admitted figures of one technique in one cell.
type offers struct {
	by      *technique.Technique
	options []option
}

func (p *piece) offersOf(c *cell, ids []string, st technique.Stage) []offers {
	var out []offers
	add := func(t *technique.Technique) {
		o := offers{by: t}
		fs := t.Left
		admit := p.admitLeft
		if st == technique.RightHand {
			fs, admit = t.Right, p.admitRight
		}
		for _, f := range fs(c.Cell) {
			if opt, ok := admit(c, f); ok {
				opt.by = t.ID
				opt.all, opt.early, opt.shape = classes(opt.Tones), c.early(opt.Tones), shapeOf(opt.Tones, c.At)
				opt.lacks = bits.OnesCount16(c.needed&^(opt.early|c.tune)) + bits.OnesCount16(c.colour&^(opt.all|c.tuneAll))/2
				if f.By != "" {
					opt.by = f.By
				}
				o.options = append(o.options, opt)
			}
		}
		o.options = thin(o.options)
		out = append(out, o)
	}
	for _, id := range ids {
		t, _ := technique.ByID(id)
		if !p.forbids(id, c.At) {
			add(t)
		}
	}
	if t := p.insisted(st, *c); t != nil && !slices.ContainsFunc(out, func(o offers) bool { return o.by == t }) {
		add(t)
	}
	return out
}

// early collects the pitch classes of tones that sound in the first half of the
// chord's span.
func (c *cell) early(ts []technique.Tone) uint16 {
	var set uint16
	for _, t := range ts {
		if t.At < c.half && t.Grace == 0 && t.Kind != score.GhostNote {
			set |= 1 << t.Pitch.Class()
		}
	}
	return set
}

// classes collects the pitch classes of a figure.
func classes(ts []technique.Tone) uint16 {
	var set uint16
	for _, t := range ts {
		if t.Grace == 0 {
			set |= 1 << t.Pitch.Class()
		}
	}
	return set
}

// shapeOf is a fingerprint (FNV-1a) of a figure's rhythm and keys.
func shapeOf(ts []technique.Tone, from theory.Dur) uint64 {
	h := uint64(14695981039346656037)
	mix := func(v int64) { h = (h ^ uint64(v)) * 1099511628211 }
	for _, t := range ts {
		mix(int64(t.At - from))
		mix(int64(t.Dur))
		mix(int64(t.Pitch.MIDI()))
	}
	return h
}

// thin keeps, of figures that begin on one key and lead to one key, the few
// cheapest: the others could never be missed by more than their own taste.
func thin(os []option) []option {
	slices.SortStableFunc(os, func(a, b option) int { return cmp.Compare(a.rank(), b.rank()) })
	type ends struct{ first, lead, top int }
	count := map[ends]int{}
	out := os[:0]
	for _, o := range os {
		if len(o.Tones) == 0 {
			continue
		}
		e := ends{o.Tones[0].Pitch.MIDI(), o.Lead, 0}
		if o.Lead == 0 {
			e.top = o.Tones[len(o.Tones)-1].Pitch.MIDI()
		}
		if count[e]++; count[e] <= 3 {
			out = append(out, o)
		}
	}
	return out
}

func (p *piece) voice(ctx context.Context) error {
	n := len(p.cells)
	lefts, rights := make([][]option, n), make([][]option, n)
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

// leftOptions lists what the left hand can play in a cell: the phrase's texture,
// the level's other textures at a price, and silence at a high one. A bar that
// failed the audit loses its texture first, then all but the simplest.
func (p *piece) leftOptions(i int) []option {
	c := &p.cells[i]
	silence := option{cost: silent}
	if p.opt.Density < 0 {
		silence.cost = 4 * silent // thinner, but never by falling silent
	}
	if c.slot < 0 || c.Chord.Silent() {
		silence.cost = 0
		return []option{silence}
	}
	failed := p.plain[c.bar].Left
	var out []option
	for k, o := range c.leftOffers {
		price := offDress + 10*k
		plainest := o.by.ID == p.level.Resort()
		switch {
		case failed > 2 || failed > 1 && !plainest, failed == 1 && o.by == c.left && !plainest:
			continue
		case o.by == c.left:
			price = 0
		case plainest:
			price = resort
		}
		if p.opt.Density < 0 && o.by != c.left { // thinner within the phrase's dress, not out of it
			price += silent
		}
		if c.Last && (plainest || o.by.ID == "ending") {
			price = 0
		}
		for _, opt := range o.options {
			opt.cost += price
			out = append(out, opt)
		}
	}
	return keep(append(out, silence))
}

// rightOptions lists what the right hand can add under the tune.
func (p *piece) rightOptions(i int) []option {
	c := &p.cells[i]
	alone := option{cost: p.aloneCost(c)}
	failed := p.plain[c.bar].Right
	if c.slot < 0 || c.Chord.Silent() || failed > 1 {
		return []option{alone}
	}
	out := []option{alone}
	for k, o := range c.rightOffers {
		if failed > 0 && o.by == c.right {
			continue
		}
		price := 0
		if c.right != nil && o.by != c.right {
			price = 12 + k
		}
		if p.insists(o.by.ID, c.At) {
			price -= insistence
		}
		for _, opt := range o.options {
			opt.cost += price
			out = append(out, opt)
		}
	}
	return keep(out)
}

// keep returns the cheapest options in a total order.
func keep(os []option) []option {
	slices.SortStableFunc(os, func(a, b option) int { return cmp.Compare(a.rank(), b.rank()) })
	return os[:min(len(os), maxFigures)]
}

// cheapestPair runs the search and returns the chosen option of each hand in
// each cell.
func (p *piece) cheapestPair(lefts, rights [][]option) (ls, rs []int) {
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
					moves[a*PA+q] = p.moveLeft(&p.cells[i-1], &lefts[i-1][q], &p.cells[i], &lefts[i][a])
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
					turns[b*PB+r] = p.moveRight(&p.cells[i-1], &rights[i-1][r], &p.cells[i], &rights[i][b])
				}
			}
		}
		for a := range A {
			for b := range B {
				k := a*B + b
				next[k] = never
				both, ok := p.together(&p.cells[i], &lefts[i][a], &rights[i][b])
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
