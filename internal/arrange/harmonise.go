package arrange

import (
	"cmp"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/theory"
)

// Choosing the chords.
//
// Problem: every chord span of the sheet has several readings (kept, rewritten
// by a device, painted with more notes), and which is best depends on its
// neighbours: how the guide tones move, and how many chromatic devices the level
// has left in this bar and phrase.
//
// Objective: the least sum of device cost, paint cost, guide-tone motion in
// semitones between neighbouring chords, and the level's wish for colour
// (negative), under hard budgets for one bar and for four.
//
// Method: exact shortest path over a lattice of spans (Viterbi). A node is a
// reading together with the budget already spent, so the budgets bind exactly
// and not on average. A backward pass gives every reading the cost of the
// cheapest piece through it, which orders the runners-up that a teacher may pick
// instead. Cost: O(n · r² · b) for n spans, r readings (perDevice of each device), b budget
// states. All costs are integers and ties go to the earlier reading, so the
// result is the same on every machine.
//
// Rejected: choosing span by span (a device that suits one chord spoils the
// next), and beam search (as fast here, and not exact).

const (
	never    = 1 << 40
	monotony = 5  // the same device twice running, unless it makes a chain
	misled   = 40 // a device that leads to one chord, followed by another
)

func (p *piece) harmonise() {
	spans := p.an.Spans
	lattice := make([][]reading, len(spans))
	for i := range spans {
		lattice[i] = p.readingsAt(i)
	}
	path, through := p.cheapest(lattice)
	for i, s := range spans {
		rs := lattice[i]
		if len(rs) == 0 {
			if s.Unknown {
				p.slots = append(p.slots, slot{at: s.At, end: s.End, unknown: true, decision: -1})
			} else if s.Silent && s.Mark >= 0 {
				p.slots = append(p.slots, slot{at: s.At, end: s.End, decision: -1})
			}
			continue
		}
		p.decide(s, rs, path[i], through[i])
	}
}

// decide writes the chosen reading into slots and keeps the decision.
func (p *piece) decide(s harmony.Span, rs []reading, chosen int, through []int) {
	r := rs[chosen]
	d := Decision{At: s.At, End: s.End, Sheet: s.Chord, Device: r.device, Cost: through[chosen]}
	for _, c := range r.chords {
		c.Chord.Chord = c.tint.Chord
		d.Chords = append(d.Chords, c.Chord)
	}
	order := make([]int, 0, len(rs))
	for i := range rs {
		if i != chosen && through[i] < never {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(through[a], through[b]) })
	for _, i := range order[:min(4, len(order))] {
		alt := Alternative{Device: rs[i].device, Extra: through[i] - through[chosen]}
		for _, c := range rs[i].chords {
			c.Chord.Chord = c.tint.Chord
			alt.Chords = append(alt.Chords, c.Chord)
		}
		d.Others = append(d.Others, alt)
	}
	for k, c := range r.chords {
		p.slots = append(p.slots, slot{at: c.At, end: c.End, chord: c.tint.Chord, added: c.tint.Added,
			device: r.device, paint: c.tint.Paint, why: c.Why, tint: c.tint.Why, leads: c.Leads, decision: len(p.decisions), part: k})
	}
	p.decisions = append(p.decisions, d)
}

// stage is one span of the lattice that has readings.
type stage struct {
	span     int
	readings []reading
	steps    []int32 // motion from each reading of the stage before: [previous·len + this]
	chains   []bool  // …and whether the device goes on at no new spending
}

// budget is what a level may spend on chromatic devices. A state counts what is
// spent in the bar and in the four bars: phrase·(bar cap + 1) + bar.
type budget struct{ perBar, perPhrase int }

func (b budget) width() int { return (b.perBar + 1) * (b.perPhrase + 1) }

// spend adds what a reading costs to a state; newBar and newPhrase start the
// counts afresh. long tells that the reading's span is longer than a bar, so that
// it may spend more than one bar's share. ok is false where a cap is passed.
func (b budget) spend(state, chromatic int, newBar, newPhrase, long bool) (_ int, ok bool) {
	bar, phrase := state%(b.perBar+1), state/(b.perBar+1)
	if newBar {
		bar = 0
	}
	if newPhrase {
		phrase = 0
	}
	bar, phrase = bar+chromatic, phrase+chromatic
	if phrase > b.perPhrase || bar > b.perBar && !long {
		return 0, false
	}
	return phrase*(b.perBar+1) + min(bar, b.perBar), true
}

// cheapest runs the search over the lattice and returns the chosen reading of
// each span and, for every reading, the cost of the cheapest whole through it.
func (p *piece) cheapest(lattice [][]reading) (path []int, through [][]int) {
	path, through = make([]int, len(lattice)), make([][]int, len(lattice))
	stages := p.stages(lattice)
	if len(stages) == 0 {
		return path, through
	}
	b := budget{p.level.PerBar, p.level.PerPhrase}
	w := b.width()
	moves := p.transitions(stages, b)
	forward := make([][]int, len(stages))
	from := make([][]int32, len(stages))
	for i, st := range stages {
		n := len(st.readings)
		forward[i], from[i] = fill(n*w), make([]int32, n*w)
		for r := range n {
			if i == 0 {
				if to := moves[0].to(st.readings[r].chromatic, 0); to >= 0 {
					forward[0][r*w+to] = st.readings[r].cost
				}
				continue
			}
			prev := stages[i-1]
			for q := range prev.readings {
				step := st.readings[r].cost + int(st.steps[q*n+r])
				chromatic := st.readings[r].chromatic
				if st.chains[q*n+r] {
					chromatic = 0
				}
				for s := range w {
					base := forward[i-1][q*w+s]
					if base >= never {
						continue
					}
					if to := moves[i].to(chromatic, s); to >= 0 && base+step < forward[i][r*w+to] {
						forward[i][r*w+to], from[i][r*w+to] = base+step, int32(q*w+s)
					}
				}
			}
		}
	}
	backward := restCosts(stages, moves, w)
	for i, st := range stages {
		out := fill(len(st.readings))
		for k, f := range forward[i] {
			if f < never && backward[i][k] < never {
				out[k/w] = min(out[k/w], f+backward[i][k])
			}
		}
		through[st.span] = out
	}
	last := len(stages) - 1
	best := 0
	for k, c := range forward[last] {
		if c < forward[last][best] {
			best = k
		}
	}
	for i := last; i >= 0; i-- {
		path[stages[i].span] = best / w
		best = int(from[i][best])
	}
	return path, through
}

// restCosts gives, for every reading and state, the cost of the cheapest rest of
// the piece after it.
func restCosts(stages []stage, moves []spending, w int) [][]int {
	out := make([][]int, len(stages))
	last := len(stages) - 1
	out[last] = make([]int, len(stages[last].readings)*w)
	for i := last - 1; i >= 0; i-- {
		next := stages[i+1]
		n := len(next.readings)
		out[i] = fill(len(stages[i].readings) * w)
		for q := range stages[i].readings {
			for r := range n {
				step := next.readings[r].cost + int(next.steps[q*n+r])
				chromatic := next.readings[r].chromatic
				if next.chains[q*n+r] {
					chromatic = 0
				}
				for s := range w {
					to := moves[i+1].to(chromatic, s)
					if to < 0 || out[i+1][r*w+to] >= never {
						continue
					}
					out[i][q*w+s] = min(out[i][q*w+s], step+out[i+1][r*w+to])
				}
			}
		}
	}
	return out
}

// stages drops the spans without readings and measures the ways between the
// others once, for both passes.
func (p *piece) stages(lattice [][]reading) []stage {
	var out []stage
	for i, rs := range lattice {
		if len(rs) == 0 {
			continue
		}
		st := stage{span: i, readings: rs}
		if k := len(out); k > 0 {
			prev := out[k-1].readings
			st.steps, st.chains = make([]int32, len(prev)*len(rs)), make([]bool, len(prev)*len(rs))
			for q := range prev {
				for r := range rs {
					same := rs[r].device != "" && prev[q].device == rs[r].device
					st.steps[q*len(rs)+r] = int32(motion(prev[q].out, rs[r].in))
					st.chains[q*len(rs)+r] = same && rs[r].chain && prev[q].chain
					goal := prev[q].then
					if goal.Silent() {
						goal = p.an.Spans[i].Chord
					}
					if rs[r].chords[0].tint.Chord.Root.Class() != goal.Root.Class() && prev[q].device != "" {
						st.steps[q*len(rs)+r] += misled
					}
					quick := 2*p.an.Spans[i].Dur() <= p.song.Meter.Bar() // chords that change fast may repeat a device
					if same && !quick && !st.chains[q*len(rs)+r] {
						st.steps[q*len(rs)+r] += monotony
					}
				}
			}
		}
		out = append(out, st)
	}
	return out
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

func (p *piece) transitions(stages []stage, b budget) []spending {
	out := make([]spending, len(stages))
	for i, st := range stages {
		newBar, newPhrase := true, true
		span := p.an.Spans[st.span]
		bar := p.song.BarAt(span.At)
		if i > 0 {
			before := p.song.BarAt(p.an.Spans[stages[i-1].span].End - 1)
			newBar, newPhrase = before != bar, before/4 != bar/4
		}
		long := span.Dur() > p.song.Bars[bar].Dur
		w := b.width()
		out[i] = spending{w, make([]int16, (mostChromatic+1)*w)}
		for c := range mostChromatic + 1 {
			for s := range w {
				out[i].table[c*w+s] = -1
				if to, ok := b.spend(s, c, newBar, newPhrase, long); ok {
					out[i].table[c*w+s] = int16(to)
				}
			}
		}
	}
	return out
}

// motion is the way of the guide tones from one chord to the next, in semitones:
// each goes to the nearer guide tone of the other chord.
func motion(from, to [2]int8) int {
	if to[0] < 0 {
		return 0
	}
	sum := 0
	for _, x := range from {
		if x < 0 {
			continue
		}
		near := circle(int(x), int(to[0]))
		if to[1] >= 0 {
			near = min(near, circle(int(x), int(to[1])))
		}
		sum += near
	}
	return sum
}

// guides returns the pitch classes of third and seventh (or what stands for
// them); −1 for none, a lone one first.
func guides(c theory.Chord) [2]int8 {
	out := [2]int8{-1, -1}
	if c.Silent() {
		return out
	}
	k := 0
	if d, ok := c.Third(); ok {
		out[k] = int8(d.On(c.Root).Class())
		k++
	}
	if d, ok := c.Seventh(); ok {
		out[k] = int8(d.On(c.Root).Class())
	}
	return out
}

// circle is the distance between two pitch classes.
func circle(a, b int) int {
	d := a - b
	if d < 0 {
		d = -d
	}
	return min(d, 12-d)
}

func fill(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = never
	}
	return out
}
