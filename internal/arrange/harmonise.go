package arrange

import (
	"cmp"
	"context"
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/technique"
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
// instead. Cost: O(n · r² · b) for n spans, r ≤ maxReadings readings, b budget
// states. All costs are integers and ties go to the earlier reading, so the
// result is the same on every machine.
//
// Rejected: choosing span by span (a device that suits one chord spoils the
// next), and beam search (as fast here, and not exact).

// maxReadings bounds the readings kept for one span, cheapest first.
const maxReadings = 40

// reading is one way to play one span of the sheet.
type reading struct {
	device    string
	chords    []painted
	cost      int
	chromatic int
	chain     bool
}

type painted struct {
	technique.Chord
	tint technique.Tint
}

func (r reading) first() theory.Chord { return r.chords[0].tint.Chord }
func (r reading) last() theory.Chord  { return r.chords[len(r.chords)-1].tint.Chord }

const never = 1 << 40

func (p *piece) harmonise(ctx context.Context) error {
	spans := p.an.Spans
	lattice := make([][]reading, len(spans))
	for i := range spans {
		lattice[i] = p.readings(i)
		if i%64 == 0 && ctx.Err() != nil {
			return context.Cause(ctx)
		}
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
	return nil
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
	for _, c := range r.chords {
		why := c.Why
		if c.tint.Why != "" {
			if why != "" {
				why += "; "
			}
			why += c.tint.Why
		}
		p.slots = append(p.slots, slot{at: c.At, end: c.End, chord: c.tint.Chord, added: c.tint.Added,
			device: r.device, paint: c.tint.Paint, why: why, decision: len(p.decisions)})
	}
	p.decisions = append(p.decisions, d)
}

// readings lists what the level can make of one span. A chord that the teacher
// chose is the only reading of its span.
func (p *piece) readings(i int) []reading {
	s := p.an.Spans[i]
	if !s.Sounding() {
		return nil
	}
	pass := p.passage(i)
	rewrites := []technique.Rewrite{{Chords: []technique.Chord{{At: s.At, End: s.End, Chord: s.Chord}}}}
	for _, id := range p.level.Devices {
		t, _ := technique.ByID(id)
		if t.Rewrite == nil || p.forbids(id, s.At) {
			continue
		}
		for _, rw := range t.Rewrite(pass) {
			rw.Device = id
			if p.insists(id, s.At) {
				rw.Cost -= insistence
			}
			rewrites = append(rewrites, rw)
		}
	}
	rewrites = p.chosenChords(s, rewrites)
	var out []reading
	for _, rw := range rewrites {
		r := reading{device: rw.Device, cost: rw.Cost - p.level.Colour*rw.Chromatic/4, chromatic: rw.Chromatic, chain: rw.Chain}
		out = append(out, p.paint(pass, rw, r)...)
	}
	slices.SortStableFunc(out, func(a, b reading) int { return cmp.Compare(a.cost, b.cost) })
	return out[:min(len(out), maxReadings)]
}

// insistence outweighs every other cost of a reading: a teacher's choice.
const insistence = 100000

// paint multiplies a rewrite by the ways in which each of its chords can be
// coloured.
func (p *piece) paint(pass technique.Passage, rw technique.Rewrite, r reading) []reading {
	out := []reading{r}
	for k, c := range rw.Chords {
		next := pass.Next.Chord
		if k+1 < len(rw.Chords) {
			next = rw.Chords[k+1].Chord
		}
		tints := p.tints(technique.Toned{Passage: pass, At: c.At, End: c.End, Chord: c.Chord, Device: rw.Device, Next: next})
		var more []reading
		for _, o := range out {
			for _, t := range tints {
				n := o
				n.cost += t.Cost
				n.chords = append(slices.Clip(slices.Clone(o.chords)), painted{c, t})
				more = append(more, n)
			}
		}
		out = more
	}
	return out
}

// tints lists the colours of one chord; the sheet's own form where no paint of
// the level applies. A chord fixed by the teacher keeps its own form.
func (p *piece) tints(t technique.Toned) []technique.Tint {
	if p.fixed(t.At) {
		return []technique.Tint{{Chord: t.Chord}}
	}
	var out []technique.Tint
	for _, id := range p.level.Devices {
		tech, _ := technique.ByID(id)
		if tech.Paint == nil || p.forbids(id, t.At) {
			continue
		}
		for _, tint := range tech.Paint(t) {
			tint.Paint = id
			if p.insists(id, t.At) {
				tint.Cost -= insistence
			}
			out = append(out, tint)
		}
	}
	if len(out) == 0 {
		return []technique.Tint{{Chord: t.Chord}}
	}
	slices.SortStableFunc(out, func(a, b technique.Tint) int { return cmp.Compare(a.Cost, b.Cost) })
	return out[:min(len(out), 5)]
}

func (p *piece) passage(i int) technique.Passage {
	spans := p.an.Spans
	pass := technique.Passage{Song: p.song, Analysis: p.an, Span: spans[i], Level: p.level.Number, Style: p.style, Tempo: p.quarters,
		Prev: harmony.Span{Mark: -2}, Next: harmony.Span{Mark: -2}}
	if i > 0 {
		pass.Prev = spans[i-1]
	}
	if i+1 < len(spans) {
		pass.Next = spans[i+1]
	}
	pass.First = true
	for _, s := range spans[:i] {
		pass.First = pass.First && !s.Sounding()
	}
	pass.Final = true
	for _, s := range spans[i+1:] {
		pass.Final = pass.Final && !s.Sounding()
	}
	ph := p.an.PhraseAt(spans[i].At)
	if ph >= 0 {
		phrase := p.an.Phrases[ph]
		pass.Cadence = spans[i].End >= phrase.End
		pass.Arrives = pass.Cadence && phrase.Cadence == harmony.Authentic
	}
	return pass
}

// cheapest runs the search over the lattice and returns the chosen reading of
// each span and, for every reading, the cost of the cheapest whole through it.
func (p *piece) cheapest(lattice [][]reading) (path []int, through [][]int) {
	perBar, perPhrase := p.level.PerBar, p.level.PerPhrase
	width := (perBar + 1) * (perPhrase + 1)
	n := len(lattice)
	forward := make([][]int, n) // [span][reading*width+state], state AFTER the reading
	from := make([][]int32, n)
	prev := -1
	for i, rs := range lattice {
		if len(rs) == 0 {
			continue
		}
		forward[i], from[i] = fill(len(rs)*width), make([]int32, len(rs)*width)
		for r := range rs {
			if prev < 0 {
				if st, ok := p.spend(0, -1, i, rs[r], perBar, perPhrase); ok {
					forward[i][r*width+st] = rs[r].cost
				}
				continue
			}
			for q := range lattice[prev] {
				step := rs[r].cost + motion(lattice[prev][q].last(), rs[r].first())
				spendable := rs[r]
				if spendable.chain && lattice[prev][q].device == spendable.device {
					spendable.chromatic = 0
				}
				for st := range width {
					base := forward[prev][q*width+st]
					if base >= never {
						continue
					}
					to, ok := p.spend(st, prev, i, spendable, perBar, perPhrase)
					if !ok {
						continue
					}
					if k := r*width + to; base+step < forward[i][k] {
						forward[i][k], from[i][k] = base+step, int32(q*width+st)
					}
				}
			}
		}
		prev = i
	}
	path, through = make([]int, n), make([][]int, n)
	if prev < 0 {
		return path, through
	}
	backward := p.backward(lattice, width, perBar, perPhrase)
	for i, rs := range lattice {
		through[i] = fill(len(rs))
		for k := range forward[i] {
			if forward[i][k] < never && backward[i][k] < never {
				through[i][k/width] = min(through[i][k/width], forward[i][k]+backward[i][k])
			}
		}
	}
	best := 0
	for k, c := range forward[prev] {
		if c < forward[prev][best] {
			best = k
		}
	}
	for i := prev; i >= 0; i-- {
		if len(lattice[i]) == 0 {
			continue
		}
		path[i] = best / width
		best = int(from[i][best])
	}
	return path, through
}

// backward computes, for every reading and budget state, the cheapest rest of
// the piece after it.
func (p *piece) backward(lattice [][]reading, width, perBar, perPhrase int) [][]int {
	n := len(lattice)
	out := make([][]int, n)
	next := -1
	for i := n - 1; i >= 0; i-- {
		rs := lattice[i]
		if len(rs) == 0 {
			continue
		}
		if next < 0 {
			out[i] = make([]int, len(rs)*width)
			next = i
			continue
		}
		out[i] = fill(len(rs) * width)
		for q := range rs {
			for r, rd := range lattice[next] {
				step := rd.cost + motion(rs[q].last(), rd.first())
				if rd.chain && rs[q].device == rd.device {
					rd.chromatic = 0
				}
				for st := range width {
					to, ok := p.spend(st, i, next, rd, perBar, perPhrase)
					if !ok || out[next][r*width+to] >= never {
						continue
					}
					out[i][q*width+st] = min(out[i][q*width+st], step+out[next][r*width+to])
				}
			}
		}
		next = i
	}
	return out
}

// spend moves a budget state from one span to the next and adds what a reading
// costs; ok is false where a budget would be overdrawn. A state is
// phrase·(perBar+1) + bar.
func (p *piece) spend(state, from, to int, r reading, perBar, perPhrase int) (int, bool) {
	bar, phrase := state%(perBar+1), state/(perBar+1)
	if from >= 0 {
		a, b := p.song.BarAt(p.an.Spans[from].End-1), p.song.BarAt(p.an.Spans[to].At)
		if a != b {
			bar = 0
		}
		if a/4 != b/4 {
			phrase = 0
		}
	}
	bar += r.chromatic
	phrase += r.chromatic
	if perBar == 0 && perPhrase == 0 && r.chromatic == 0 {
		return 0, true
	}
	if bar > perBar || phrase > perPhrase {
		if span := p.an.Spans[to]; r.chromatic > 0 && span.Dur() > p.song.Bars[p.song.BarAt(span.At)].Dur && r.chromatic <= perPhrase && phrase <= perPhrase {
			return phrase*(perBar+1) + min(bar, perBar), true
		}
		return 0, false
	}
	return phrase*(perBar+1) + bar, true
}

// motion is the way of the guide tones from one chord to the next, in semitones:
// each goes to the nearer guide tone of the other chord.
func motion(a, b theory.Chord) int {
	from, to := guides(a), guides(b)
	if len(from) == 0 || len(to) == 0 {
		return 0
	}
	sum := 0
	for _, x := range from {
		near := 12
		for _, y := range to {
			near = min(near, circle(x, y))
		}
		sum += near
	}
	return sum
}

func guides(c theory.Chord) []int {
	var out []int
	if d, ok := c.Third(); ok {
		out = append(out, d.On(c.Root).Class())
	}
	if d, ok := c.Seventh(); ok {
		out = append(out, d.On(c.Root).Class())
	}
	return out
}

// circle is the distance between two pitch classes.
func circle(a, b int) int {
	d := ((a-b)%12 + 12) % 12
	return min(d, 12-d)
}

func fill(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = never
	}
	return out
}
