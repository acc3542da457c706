package arrange

import (
	"slices"

	"gradatim/internal/technique"
)

// progression is the search over the chords of a piece: for every reading of every span
// the cheapest way to it and the cheapest way on. It is never changed; one that differs
// in a few spans shares the rest, by the same rule as the search over notes: costs are
// counted from the least of each table, and where two tables are equal again all that
// follows is, too.
type progression struct {
	width  int // budget states
	stages []*stage
	dead   bool // no way keeps the budgets
}

// stage is one span of the lattice that has readings. Tables are by reading, then
// budget state.
type stage struct {
	span     int
	readings []reading
	steps    []int32 // motion from each reading of the stage before: [previous·len + this]
	chains   []bool  // …and whether the device goes on at no new spending
	moves    spending
	ahead    []int // cheapest way to it and with it, above the least
	floor    int   // that least, less that of the stage before
	from     []int32
	on       []int // cheapest way on from it, above the least
	extra    []int // by reading: what the cheapest whole with it costs more than the cheapest; never: it has none
	chosen   int   // reading
	decision Decision
}

// progress runs the search over the readings of each span; earlier is one over nearly
// the same readings, or nil.
func (p *piece) progress(lattice [][]reading, earlier *progression) *progression {
	b := budget{p.level.PerBar, p.level.PerPhrase}
	pr := &progression{width: b.width()}
	if earlier != nil && earlier.width != pr.width {
		earlier = nil
	}
	for i, rs := range lattice {
		if len(rs) > 0 {
			pr.stages = append(pr.stages, &stage{span: i, readings: rs})
		}
	}
	if len(pr.stages) == 0 {
		return pr
	}
	twin := func(k int) *stage { // the same span with the same readings
		if earlier == nil || k < 0 || k >= len(earlier.stages) {
			return nil
		}
		if a, b := pr.stages[k].readings, earlier.stages[k].readings; len(a) != len(b) || &a[0] != &b[0] {
			return nil
		}
		return earlier.stages[k]
	}
	met := true
	for k, st := range pr.stages {
		old := twin(k)
		var prev *stage
		if k > 0 {
			prev = pr.stages[k-1]
		}
		if old != nil && (k == 0 || twin(k-1) != nil) {
			st.steps, st.chains = old.steps, old.chains
		} else if k > 0 {
			st.steps, st.chains = p.steps(prev, st)
		}
		if earlier != nil && k < len(earlier.stages) {
			st.moves = earlier.stages[k].moves
		} else {
			st.moves = p.spending(prev, st, b)
		}
		if old != nil && met {
			st.ahead, st.floor, st.from = old.ahead, old.floor, old.from
			continue
		}
		if st.arrive(prev, pr.width); st.floor >= never {
			pr.dead = true
			return pr
		}
		met = old != nil && slices.Equal(st.ahead, old.ahead)
	}
	met = true
	for k, st := range slices.Backward(pr.stages) {
		old := twin(k)
		if old != nil && met {
			st.on = old.on
		} else {
			var next *stage
			if k+1 < len(pr.stages) {
				next = pr.stages[k+1]
			}
			st.leave(next, pr.width)
			met = old != nil && slices.Equal(st.on, old.on)
		}
		if old != nil && &st.ahead[0] == &old.ahead[0] && &st.on[0] == &old.on[0] {
			st.extra = old.extra
		} else {
			st.compare(pr.width)
		}
	}
	pr.choose()
	return pr
}

// arrive fills in the cheapest ways to the readings of a stage.
func (st *stage) arrive(prev *stage, w int) {
	n := len(st.readings)
	st.ahead, st.from = fill(n*w), make([]int32, n*w)
	for r := range n {
		if prev == nil {
			if to := st.moves.to(st.readings[r].chromatic, 0); to >= 0 {
				st.ahead[r*w+to] = st.readings[r].cost
			}
			continue
		}
		for q := range prev.readings {
			step, chromatic := st.step(q, r)
			for s := range w {
				base := prev.ahead[q*w+s]
				if base >= never {
					continue
				}
				if to := st.moves.to(chromatic, s); to >= 0 && base+step < st.ahead[r*w+to] {
					st.ahead[r*w+to], st.from[r*w+to] = base+step, int32(q*w+s)
				}
			}
		}
	}
	st.floor = least(st.ahead)
}

// leave fills in the cheapest ways on from the readings of a stage.
func (st *stage) leave(next *stage, w int) {
	if next == nil {
		st.on = make([]int, len(st.readings)*w)
		return
	}
	st.on = fill(len(st.readings) * w)
	for q := range st.readings {
		for r := range next.readings {
			step, chromatic := next.step(q, r)
			for s := range w {
				to := next.moves.to(chromatic, s)
				if to < 0 || next.on[r*w+to] >= never {
					continue
				}
				st.on[q*w+s] = min(st.on[q*w+s], step+next.on[r*w+to])
			}
		}
	}
	least(st.on)
}

// step is what it costs to come to a reading from one of the stage before, and what it
// then spends.
func (st *stage) step(q, r int) (cost, chromatic int) {
	k := q*len(st.readings) + r
	cost, chromatic = st.readings[r].cost+int(st.steps[k]), st.readings[r].chromatic
	if st.chains[k] {
		chromatic = 0
	}
	return cost, chromatic
}

// least takes from a table its least, and returns it.
func least(costs []int) int {
	low := never
	for _, v := range costs {
		low = min(low, v)
	}
	for k := range costs {
		if costs[k] < never {
			costs[k] -= low
		}
	}
	return low
}

// compare works out what each reading would cost the whole.
func (st *stage) compare(w int) {
	st.extra = fill(len(st.readings))
	for k, a := range st.ahead {
		if b := st.on[k]; a < never && b < never {
			st.extra[k/w] = min(st.extra[k/w], a+b)
		}
	}
	low := slices.Min(st.extra)
	for r := range st.extra {
		if st.extra[r] < never {
			st.extra[r] -= low
		}
	}
}

// choose follows the cheapest way back from the end.
func (pr *progression) choose() {
	last := len(pr.stages) - 1
	best := 0
	for k, c := range pr.stages[last].ahead {
		if c < pr.stages[last].ahead[best] {
			best = k
		}
	}
	for _, st := range slices.Backward(pr.stages) {
		st.chosen = best / pr.width
		best = int(st.from[best])
	}
}

// cost is what the cheapest whole costs.
func (pr *progression) cost() int {
	sum := 0
	for _, st := range pr.stages {
		sum += st.floor
	}
	return sum
}

// steps measures the ways from one stage to the next.
func (p *piece) steps(prev, st *stage) (steps []int32, chains []bool) {
	n := len(st.readings)
	steps, chains = make([]int32, len(prev.readings)*n), make([]bool, len(prev.readings)*n)
	span := p.an.Spans[st.span]
	quick := 2*span.Dur() <= p.song.Meter.Bar() // chords that change fast may repeat a device
	for q := range prev.readings {
		a := &prev.readings[q]
		for r := range st.readings {
			b, k := &st.readings[r], q*n+r
			same := b.device != "" && a.device == b.device
			steps[k] = int32(motion(a.out, b.in))
			chains[k] = same && b.chain && a.chain
			goal := a.then
			if goal.Silent() {
				goal = span.Chord
			}
			if b.chords[0].tint.Chord.Root.Class() != goal.Root.Class() && a.device != "" {
				steps[k] += misled
			}
			if same && !quick && !chains[k] {
				steps[k] += monotony
			}
		}
	}
	return steps, chains
}

// spending tabulates budget.spend for one step of the lattice.
type spending struct {
	width int
	table []int16 // [chromatic·width + state]; −1: overdrawn
}

const mostChromatic = 4 // of one reading

func (s spending) to(chromatic, state int) int {
	return int(s.table[min(chromatic, mostChromatic)*s.width+state])
}

func (p *piece) spending(prev, st *stage, b budget) spending {
	newBar, newPhrase := true, true
	span := p.an.Spans[st.span]
	bar := p.song.BarAt(span.At)
	if prev != nil {
		before := p.song.BarAt(p.an.Spans[prev.span].End - 1)
		newBar, newPhrase = before != bar, before/4 != bar/4
	}
	long := span.Dur() > p.song.Bars[bar].Dur
	w := b.width()
	out := spending{w, make([]int16, (mostChromatic+1)*w)}
	for c := range mostChromatic + 1 {
		for s := range w {
			out.table[c*w+s] = -1
			if to, ok := b.spend(s, c, newBar, newPhrase, long); ok {
				out.table[c*w+s] = int16(to)
			}
		}
	}
	return out
}

// chordsOf are the chords of a reading as they are painted.
func (r *reading) chordsOf() []technique.Chord {
	out := make([]technique.Chord, len(r.chords))
	for k, c := range r.chords {
		out[k] = c.Chord
		out[k].Chord = c.tint.Chord
	}
	return out
}
