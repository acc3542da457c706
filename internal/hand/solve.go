package hand

// The search: from the candidates of each strike, the row that is cheapest over
// the whole line.

import (
	"slices"

	"gradatim/theory"
)

// stage is a strike prepared for the search.
type stage struct {
	*Strike
	down   [MaxKeys]int  // keys down, from the thumb's side
	struck [MaxKeys]bool // which of them are struck
	n      int
	opts   []option
	want   [MaxKeys]uint8 // fingers that the run, figure or chord it belongs to asks for; 0 none
	pull   int            // how much it asks
	from   int            // way from the stage before, where both are single notes
	barred uint16         // options that are late where a repeat is played again
	join   uint8          // to the stage before: 0 apart, 1 nearly joined, 2 joined
}

// single tells whether one key is down.
func (s *stage) single() bool { return s.n == 1 }

// outer is the place of the struck key farthest from the thumb's side; −1: none.
func (s *stage) outer() int {
	for i := s.n - 1; i >= 0; i-- {
		if s.struck[i] {
			return i
		}
	}
	return -1
}

// strikes counts the keys struck.
func (s *stage) strikes() (n int) {
	for _, x := range s.struck[:s.n] {
		if x {
			n++
		}
	}
	return n
}

// join is where a hand goes on from a strike with one that does not stand after it: a
// repeat is played again.
type join struct {
	from, to int
	wait     Micros
}

// joinTries is how often fingers are chosen again for joins; each bars what was late.
const joinTries = 4

func (f *fingerer) finger(strikes []Strike, joins ...join) []Fingering {
	out := make([]Fingering, len(strikes))
	stages := make([]stage, len(strikes))
	pool := pool{options: make([]option, 0, 2*len(strikes))}
	for i := range strikes {
		f.prepare(&stages[i], &strikes[i], &pool)
		if i > 0 {
			if stages[i-1].single() && stages[i].single() {
				stages[i].from = f.way(stages[i-1].down[0], stages[i].down[0])
			}
			switch gap := strikes[i].At - strikes[i-1].End; {
			case strikes[i-1].Grace || gap <= 0:
				stages[i].join = 2
			case gap < theory.Quarter:
				stages[i].join = 1
			}
		}
	}
	f.alike(stages)
	for i := range stages {
		stages[i].wishes(f.w.wish)
	}
	same := returns(stages)
	var choice []int
	for range joinTries {
		choice, _ = f.search(stages)
		if same != nil {
			f.alignReturns(stages, same, choice)
		}
		if !f.barJoins(stages, joins, choice) {
			break
		}
	}
	n := 0
	for i := range strikes {
		n += len(strikes[i].Keys) + len(strikes[i].Held)
	}
	fingers := make([]uint8, n) // each strike has its part
	for i, o := range choice {
		out[i], fingers = f.fingering(&stages[i], o, fingers)
	}
	return out
}

// barJoins bars the fingers from which the first ones of what is played again are late; where
// all are, those.
func (f *fingerer) barJoins(stages []stage, joins []join, choice []int) (barred bool) {
	for _, j := range joins {
		s, t := &stages[j.from], stages[j.to]
		strike := *t.Strike
		strike.Wait = j.wait
		t.Strike = &strike
		if !f.hurried(s, &t) || !f.late(s, &t, choice[j.from], choice[j.to]) {
			continue
		}
		barred = true
		left := false
		for o := range s.opts {
			if f.late(s, &t, o, choice[j.to]) {
				s.barred |= 1 << o
			}
			left = left || s.barred>>o&1 == 0
		}
		if !left {
			s.barred = 0
			stages[j.to].barred |= 1 << choice[j.to]
		}
	}
	return barred
}

// search returns the index of the chosen option of each stage and what they cost
// together.
func (f *fingerer) search(stages []stage) (choice []int, total int) {
	n := len(stages)
	if n == 0 {
		return nil, 0
	}
	const width = 10
	type table [width][width]int32
	const far = int32(1) << 30
	var cost, next table
	trail := make([][width][width]uint8, n)
	var pair table
	var lifted, liftedBefore [width][width]bool // between the two strikes, and the two before
	var up, upBefore bool                       // whether it is anywhere
	choice = make([]int, n)
	// cost[a][b]: the cheapest way to option b of stage i with option a of i−1.
	for b, o := range stages[0].opts {
		cost[0][b] = int32(o.cost + f.wanted(&stages[0], b))
	}
	var l link
	before := 1
	for i := 1; i < n; i++ {
		s, t := &stages[i-1], &stages[i]
		f.link(s, t, &l)
		upBefore, up = up, false
		hurried := f.hurried(s, t)
		for b := range s.opts {
			for c := range t.opts {
				v, u := f.between(s, t, &l, b, c)
				if hurried && f.late(s, t, b, c) {
					v += f.w.tooLate
				}
				pair[b][c], lifted[b][c] = int32(v+t.opts[c].cost+f.wanted(t, c)), u
				up = up || u
			}
		}
		three := i > 1 && t.join == 2 && s.join == 2 && t.single() && s.single() && stages[i-2].single()
		again := i > 1 && !three && stages[i-2].n == t.n && stages[i-2].down == t.down && len(stages[i-2].opts) == len(t.opts)
		rx, ty, back := 0, 0, false
		if i > 1 {
			rx, ty, back = comesBack(&stages[i-2], s, t)
		}
		row := i > 1 && t.single() && s.single() && stages[i-2].single() && t.Wait > 0 && s.Wait > 0 && t.Wait < OneFinger && s.Wait < OneFinger
		if again {
			// Options of the same keys stand in the same order.
			other := int32(f.w.again)
			if t.n > 2 {
				other = int32(f.w.againChord)
			}
			if back {
				other = max(other, int32(f.w.back))
			}
			for b := range s.opts {
				for c := range t.opts {
					best, from := far, 0
					for a := range before {
						v := cost[a][b]
						if a != c {
							v += other
						} else if row && s.opts[b].fingers[0] == t.opts[c].fingers[0] {
							v += int32(f.w.tooLate)
						}
						if v < best {
							best, from = v, a
						}
					}
					next[b][c] = best + pair[b][c]
					trail[i][b][c] = uint8(from)
				}
			}
		} else if back && !three {
			r := &stages[i-2]
			for b := range s.opts {
				for c := range t.opts {
					best, from := far, 0
					for a := range before {
						v := cost[a][b]
						if r.opts[a].fingers[rx] != t.opts[c].fingers[ty] {
							v += int32(f.w.back)
						}
						if v < best {
							best, from = v, a
						}
					}
					next[b][c] = best + pair[b][c]
					trail[i][b][c] = uint8(from)
				}
			}
		} else if !three {
			for b := range s.opts {
				best, from := far, 0
				for a := range before {
					if cost[a][b] < best {
						best, from = cost[a][b], a
					}
				}
				for c := range t.opts {
					next[b][c] = best + pair[b][c]
					trail[i][b][c] = uint8(from)
				}
			}
		} else {
			r := &stages[i-2]
			d2 := f.way(r.down[0], t.down[0])
			slow, ups := t.Wait >= Lift, up || upBefore
			mid := f.inside(r.down[0], s.down[0], t.down[0])
			for b := range s.opts {
				for c := range t.opts {
					best, from := far, 0
					for a := range before {
						v := cost[a][b]
						if row && r.opts[a].fingers[0] == s.opts[b].fingers[0] && s.opts[b].fingers[0] == t.opts[c].fingers[0] {
							v += int32(f.w.tooLate)
						}
						if !(ups && (lifted[b][c] || liftedBefore[a][b])) {
							v += f.change(int(r.opts[a].fingers[0]), int(s.opts[b].fingers[0]), int(t.opts[c].fingers[0]), d2, mid, slow)
						}
						if back && r.opts[a].fingers[0] != t.opts[c].fingers[0] {
							v += int32(f.w.back)
						}
						if v < best {
							best, from = v, a
						}
					}
					next[b][c] = best + pair[b][c]
					trail[i][b][c] = uint8(from)
				}
			}
		}
		cost, next = next, cost
		lifted, liftedBefore = liftedBefore, lifted
		before = len(s.opts)
		// Keep the numbers small on endless pieces.
		if i%1024 == 0 {
			least := far
			for a := range before {
				for b := range t.opts {
					least = min(least, cost[a][b])
				}
			}
			for a := range before {
				for b := range t.opts {
					cost[a][b] -= least
				}
			}
			total += int(least)
		}
	}
	best, at, bt := far, 0, 0
	for a := range before {
		for b := range stages[n-1].opts {
			if cost[a][b] < best {
				best, at, bt = cost[a][b], a, b
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		choice[i] = bt
		if i > 0 {
			at, bt = int(trail[i][at][bt]), at
		}
	}
	return choice, total + int(best)
}

// wishes has a stage ask for the fingers that are hoped for its strike, before those of
// any figure.
func (s *stage) wishes(pull int) {
	if len(s.Wished) != len(s.Keys) || len(s.Keys) == 0 {
		return
	}
	s.want, s.pull = [MaxKeys]uint8{}, max(s.pull, pull)
	for i, k := range s.down[:s.n] {
		if j := slices.Index(s.Keys, k); j >= 0 {
			s.want[i] = s.Wished[j]
		}
	}
}

// wanted is the cost of not following the run or figure that a stage belongs to.
func (f *fingerer) wanted(s *stage, o int) int {
	if s.barred>>o&1 == 1 {
		return f.w.tooLate
	}
	if s.pull == 0 {
		return 0
	}
	for i, g := range s.want[:s.n] {
		if g != 0 && s.opts[o].fingers[i] != g {
			return s.pull
		}
	}
	return 0
}

// fingering turns a chosen option into the answer for a strike; it stands in the first
// of some fingers, and what is left of them is returned.
func (f *fingerer) fingering(s *stage, o int, in []uint8) (out Fingering, rest []uint8) {
	k, n := len(s.Keys), len(s.Keys)+len(s.Held)
	out, rest = Fingering{Keys: in[:k:k], Held: in[k:n:n]}, in[n:]
	if o >= len(s.opts) {
		return out, rest
	}
	find := func(k int) uint8 {
		for i := range s.n {
			if s.down[i] == k {
				return s.opts[o].fingers[i]
			}
		}
		return 0
	}
	for i, k := range s.Keys {
		out.Keys[i] = find(k)
	}
	for i, k := range s.Held {
		out.Held[i] = find(k)
	}
	return out, rest
}
