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

// harmonise chooses the chords; earlier is the same piece with other choices, or nil.
func (p *piece) harmonise(earlier *piece, changed func(i int) bool) {
	spans := p.an.Spans
	p.lattice = make([][]reading, len(spans))
	var before *progression
	if earlier != nil {
		before = earlier.progression
	}
	for i := range spans {
		if earlier != nil && !changed(i) {
			p.lattice[i] = earlier.lattice[i]
		} else {
			p.lattice[i] = p.readingsAt(i)
		}
	}
	p.progression = p.progress(p.lattice, before)
	if p.progression.dead { // the teacher asks for more than the budgets
		for i, s := range spans {
			if p.fixedChords(s) != nil {
				p.lattice[i] = slices.Clone(p.lattice[i])
				for r := range p.lattice[i] {
					p.lattice[i][r].chromatic = 0
				}
			}
		}
		p.progression = p.progress(p.lattice, nil)
	}
	stages := p.progression.stages
	p.slots, p.decisions = make([]slot, 0, len(spans)+len(spans)/2), make([]Decision, 0, len(stages))
	k := 0
	for i, s := range spans {
		if k < len(stages) && stages[k].span == i {
			if st := stages[k]; before == nil || !st.decidedBy(before.stages[k]) {
				st.decision = decisionOf(s, st)
			}
			p.decide(stages[k])
			k++
			continue
		}
		if s.Unknown {
			p.slots = append(p.slots, slot{at: s.At, end: s.End, unknown: true, decision: -1})
		} else if s.Silent && s.Mark >= 0 {
			p.slots = append(p.slots, slot{at: s.At, end: s.End, decision: -1})
		}
	}
}

// decide writes the chosen reading into slots and keeps the decision.
func (p *piece) decide(st *stage) {
	r := &st.readings[st.chosen]
	for k, c := range r.chords {
		p.slots = append(p.slots, slot{at: c.At, end: c.End, chord: c.tint.Chord, added: c.tint.Added,
			device: r.device, paint: c.tint.Paint, why: c.Why, tint: c.tint.Why, leads: c.Leads, decision: len(p.decisions), part: k})
	}
	p.decisions = append(p.decisions, st.decision)
}

// decidedBy takes over the decision of the same span in an earlier search, if it still
// is what it was.
func (st *stage) decidedBy(old *stage) bool {
	if &st.extra[0] != &old.extra[0] || st.chosen != old.chosen {
		return false
	}
	st.decision = old.decision
	return true
}

func decisionOf(s harmony.Span, st *stage) Decision {
	r := &st.readings[st.chosen]
	d := Decision{At: s.At, End: s.End, Sheet: s.Chord, Device: r.device, Chords: r.chordsOf()}
	order := st.order()
	order = order[1:min(5, len(order))]
	d.Others = make([]Alternative, 0, len(order))
	for _, i := range order {
		d.Others = append(d.Others, Alternative{Device: st.readings[i].device, Chords: st.readings[i].chordsOf(), Extra: st.extra[i]})
	}
	return d
}

// order lists the readings that a whole can have: the chosen one, then the others by
// what they would cost it, the earlier of equals first.
func (st *stage) order() []int {
	out := []int{st.chosen}
	for i, v := range st.extra {
		if i != st.chosen && v < never {
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out[1:], func(a, b int) int { return cmp.Compare(st.extra[a], st.extra[b]) })
	return out
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
