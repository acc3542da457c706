package hand

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// option is one way to finger a strike.
type option struct {
	fingers [MaxKeys]uint8 // of the keys down, from the thumb's side
	cost    int            // within the strike
	thumb   Length         // where the thumb would lie, away from its side
	forced  bool           // beyond what fingers can; nothing better exists
}

// stage is a strike prepared for the search.
type stage struct {
	Strike
	down   [MaxKeys]int  // keys down, from the thumb's side
	struck [MaxKeys]bool // which of them are struck
	n      int
	opts   []option
	want   uint8 // finger that the run or figure it belongs to asks for; 0 none
	pull   int   // how much it asks
	from   int   // way from the stage before, where both are single notes
	join   uint8 // to the stage before: 0 apart, 1 nearly joined, 2 joined
}

// single tells whether one key is down.
func (s *stage) single() bool { return s.n == 1 }

func (f *fingerer) finger(strikes []Strike) []Fingering {
	out := make([]Fingering, len(strikes))
	stages := make([]stage, len(strikes))
	pool := make([]option, 0, 8*len(strikes))
	for i := range strikes {
		pool = f.prepare(&stages[i], strikes[i], pool)
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
	for i, o := range f.search(stages) {
		out[i] = f.fingering(&stages[i], o)
	}
	return out
}

// prepare lists the ways to finger a strike. Held keys that cannot be kept with
// what is struck are let go, the farthest first.
func (f *fingerer) prepare(s *stage, strike Strike, pool []option) []option {
	s.Strike = strike
	var keyBuf, heldBuf [MaxKeys]int
	var downBuf [2 * MaxKeys]int
	keys := keyBuf[:0]
	for _, k := range strike.Keys {
		if !slices.Contains(keys, k) && len(keys) < MaxKeys {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	held := heldBuf[:0]
	for _, k := range strike.Held {
		if !slices.Contains(keys, k) && !slices.Contains(held, k) {
			held = append(held, k)
		}
	}
	for {
		down := append(append(downBuf[:0], keys...), held...)
		slices.Sort(down)
		if f.h == score.Left {
			slices.Reverse(down)
		}
		if len(down) <= MaxKeys {
			start := len(pool)
			pool = f.options(down, strike, pool)
			if opts := pool[start:]; len(held) == 0 || len(opts) > 0 && !opts[0].forced {
				s.opts = opts
				s.n = copy(s.down[:], down)
				for i, k := range down {
					s.struck[i] = slices.Contains(keys, k)
				}
				return pool
			}
			pool = pool[:start]
		}
		far := 0
		for i, k := range held {
			if len(keys) > 0 && Distance(k, keys[0]) > Distance(held[far], keys[0]) {
				far = i
			}
		}
		held = slices.Delete(held, far, far+1)
	}
}

// options appends the ways to finger keys that are down together, given from the
// thumb's side. Where no fingers can, every order is allowed, at a price.
func (f *Grip) options(down []int, strike Strike, pool []option) []option {
	if len(down) == 0 || len(down) > MaxKeys {
		return pool
	}
	start := len(pool)
	for try := range 4 {
		// What is asked for counts most, then what fingers can do.
		asked, forced := try < 2, try%2 == 1
		if !asked && !anyAsked(strike) {
			break
		}
		for _, set := range fingerSets[len(down)] {
			if !forced && !f.spanned(down, set, strike.Rolled) || asked && !asAsked(down, set, strike) {
				continue
			}
			o := option{forced: forced}
			for i, g := range set {
				o.fingers[i] = uint8(g)
				at := Position(down[i])
				if f.h == score.Left {
					at = -at
				}
				o.thumb += at - restingOffset[g]
			}
			o.thumb /= Length(len(down))
			o.cost = f.within(down, set, strike)
			if forced {
				o.cost += f.w.beyond
			}
			pool = append(pool, o)
		}
		if len(pool) > start {
			break
		}
	}
	return pool
}

func anyAsked(s Strike) bool {
	for _, g := range s.Asked {
		if g != 0 {
			return true
		}
	}
	return false
}

// asAsked tells whether a choice of fingers agrees with the fingers asked for.
func asAsked(down, set []int, s Strike) bool {
	for i, g := range s.Asked {
		if g == 0 || i >= len(s.Keys) {
			continue
		}
		for j, k := range down {
			if k == s.Keys[i] && set[j] != int(g) {
				return false
			}
		}
	}
	return true
}

// restingOffset is where a finger lies from the thumb in a closed hand, one
// white key each.
var restingOffset = [6]Length{2: WhiteKey, 3: 2 * WhiteKey, 4: 3 * WhiteKey, 5: 4 * WhiteKey}

// spanned tells whether each pair of fingers spans its keys. The lowest note of
// a rolled chord may be left.
func (f *Grip) spanned(down, set []int, rolled bool) bool {
	first, last := 0, len(down)-1
	if rolled && len(down) > 1 {
		if f.h == score.Left {
			last--
		} else {
			first++
		}
	}
	for i := first; i <= last; i++ {
		for j := i + 1; j <= last; j++ {
			if Distance(down[i], down[j]) > f.reach[set[i]][set[j]] {
				return false
			}
		}
	}
	return true
}

// within is the cost of a strike on its own.
func (f *Grip) within(down, set []int, strike Strike) int {
	w := &f.w
	c := 0
	for i, g := range set {
		if g == 4 {
			c += w.weak
		}
		if g == 1 && Black(down[i]) && len(down) > 1 {
			// A hand that lies on black keys altogether lies well.
			for j, k := range down {
				if j != i && !Black(k) {
					c += w.thumbBlack
					break
				}
			}
		}
	}
	if len(down) == 1 {
		if set[0] == 1 && Black(down[0]) {
			c += w.thumbBlack
		}
		return c
	}
	cost := func(i, j int) int {
		d := f.way(down[i], down[j])
		s := f.spans[set[i]][set[j]]
		e := 0
		if d > s.MaxComf {
			e += w.stretch * (d - s.MaxComf)
		}
		if d < s.MinRel {
			e += w.small * (s.MinRel - d)
		}
		if d > s.MaxRel {
			e += w.large * (d - s.MaxRel)
		}
		return e
	}
	last := len(down) - 1
	for i := range last {
		off := Distance(down[i], down[i+1]) - (restingOffset[set[i+1]] - restingOffset[set[i]])
		if off < 0 {
			off = -off
		}
		c += cost(i, i+1) + w.settle*int(min(off, Octave))/int(WhiteKey)
	}
	if last > 1 {
		c += cost(0, last)
	}
	if set[last] == 5 && Black(down[last]) && last == 1 && f.way(down[0], down[1]) == 12 {
		c += w.fiveChord
	}
	return c
}

// search returns the index of the chosen option of each stage.
func (f *fingerer) search(stages []stage) []int {
	n := len(stages)
	if n == 0 {
		return nil
	}
	const width = 10
	type table [width][width]int32
	const far = int32(1) << 30
	var cost, next table
	back := make([][width][width]uint8, n)
	var pair table
	var lifted, liftedBefore [width][width]bool // between the two strikes, and the two before
	var up, upBefore bool                       // whether it is anywhere
	choice := make([]int, n)
	// cost[a][b]: the cheapest way to option b of stage i with option a of i−1.
	for b, o := range stages[0].opts {
		cost[0][b] = int32(o.cost + f.wanted(&stages[0], b))
	}
	before := 1
	for i := 1; i < n; i++ {
		s, t := &stages[i-1], &stages[i]
		near := s.n == 1 && t.n > 1 && f.near(s, t)
		upBefore, up = up, false
		for b := range s.opts {
			for c := range t.opts {
				v, u := f.between(s, t, b, c)
				if near && f.conflicts(s, t, b, c) {
					v += f.w.conflict
				}
				pair[b][c], lifted[b][c] = int32(v+t.opts[c].cost+f.wanted(t, c)), u
				up = up || u
			}
		}
		three := i > 1 && t.join == 2 && s.join == 2 && t.single() && s.single() && stages[i-2].single()
		again := i > 1 && !three && stages[i-2].n == t.n && stages[i-2].down == t.down && len(stages[i-2].opts) == len(t.opts)
		if again {
			// Options of the same keys stand in the same order.
			for b := range s.opts {
				for c := range t.opts {
					best, from := far, 0
					for a := range before {
						v := cost[a][b]
						if a != c {
							v += int32(f.w.again)
						}
						if v < best {
							best, from = v, a
						}
					}
					next[b][c] = best + pair[b][c]
					back[i][b][c] = uint8(from)
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
					back[i][b][c] = uint8(from)
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
						if !(ups && (lifted[b][c] || liftedBefore[a][b])) {
							v += f.change(a+1, b+1, c+1, d2, mid, slow)
						}
						if v < best {
							best, from = v, a
						}
					}
					next[b][c] = best + pair[b][c]
					back[i][b][c] = uint8(from)
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
			at, bt = int(back[i][at][bt]), at
		}
	}
	return choice
}

// wanted is the cost of not following the run or figure that a stage belongs to.
func (f *fingerer) wanted(s *stage, o int) int {
	if s.want == 0 || s.opts[o].fingers[0] == s.want {
		return 0
	}
	return s.pull
}

// inside tells whether the middle key lies between the outer ones.
func (f *fingerer) inside(a, b, c int) bool { return a < b && b < c || a > b && b > c }

// change is the cost of three fingers in a row (rules 4 and 5): the hand changes
// its position where the first and third note lie further apart, or nearer, than
// their fingers do in comfort; altogether where the thumb passes in between.
func (f *fingerer) change(a, b, c, d int, mid, slow bool) int32 {
	if a == c {
		// The same finger twice: the hand has moved by the whole distance.
		if d == 0 {
			return 0
		}
		n := f.w.change
		far := 12
		if b == 1 && mid && slow {
			far = f.w.pivot
		}
		return int32(n + f.w.changeSize*min(max(d, -d), far))
	}
	lo, hi := a, c
	if lo > hi {
		lo, hi, d = hi, lo, -d
	}
	s := &f.spans[lo][hi]
	off := 0
	switch {
	case d > s.MaxComf:
		off = d - s.MaxComf
	case d < s.MinComf:
		off = s.MinComf - d
	default:
		return 0
	}
	n := f.w.change
	if b == 1 && mid && (d > s.MaxPrac || d < s.MinPrac) {
		n *= 2
	}
	return int32(n + f.w.changeSize*min(off, 12))
}

// near tells whether a note and the chord after it lie under the hand together,
// so that one position takes both.
func (f *fingerer) near(s, t *stage) bool {
	if t.n >= MaxKeys || t.join == 0 || slices.Contains(t.down[:t.n], s.down[0]) {
		return false
	}
	var both [MaxKeys]int
	copy(both[:], t.down[:t.n])
	both[t.n] = s.down[0]
	return f.p.Comfortable(f.h, both[:t.n+1])
}

// conflicts tells whether the fingers of a note and of the chord after it do not
// stand in the order of their keys, or stretch beyond what they span: they
// belong to two positions of the hand.
func (f *fingerer) conflicts(s, t *stage, a, b int) bool {
	g := s.opts[a].fingers[0]
	for i, k := range t.down[:t.n] {
		h := t.opts[b].fingers[i]
		lo, hi := g, h
		if f.way(s.down[0], k) < 0 {
			lo, hi = h, g
		}
		if lo >= hi || Distance(s.down[0], k) > f.reach[lo][hi] {
			return true
		}
	}
	return false
}

// between is the cost of going from one strike to the next; it tells whether the
// hand is lifted between two notes.
func (f *fingerer) between(s, t *stage, a, b int) (cost int, lifted bool) {
	oa, ob := &s.opts[a], &t.opts[b]
	w := &f.w
	c := 0
	// Keys that stay keep their finger.
	if s.n > 1 || t.n > 1 {
		for i := range s.n {
			for j := range t.n {
				if s.down[i] != t.down[j] {
					continue
				}
				if oa.fingers[i] != ob.fingers[j] {
					if !t.struck[j] {
						c += w.exchange
					} else if t.Wait >= 2*Lift {
						c += w.restrike
					} else {
						c += w.recolour
					}
				}
			}
		}
	}
	if t.join == 0 {
		return c, false
	}
	half := 0
	if t.join == 1 {
		half = 1
	}
	if s.n == 1 && t.n == 1 {
		v, up := f.step(s, t, int(oa.fingers[0]), int(ob.fingers[0]), half)
		return c + v, up
	}
	// Between chords: how far the hand moves, and where it stays, the line of its
	// outer side. A hand that moves has let go.
	shift := oa.thumb - ob.thumb
	if shift < 0 {
		shift = -shift
	}
	x, y := s.n-1, t.n-1
	if shift < 3*WhiteKey/2 && s.down[x] != t.down[y] && s.struck[x] && t.struck[y] {
		d := f.way(s.down[x], t.down[y])
		v := int(f.pairs[oa.fingers[x]][ob.fingers[y]][d+farStep]) >> 1
		if v > w.sameFinger/2 { // chords need not be joined
			v = w.sameFinger / 2
		}
		if s.n > 1 && t.n > 1 && oa.fingers[x] == ob.fingers[y] {
			v = w.sameOuter
		}
		c += v >> half
	}
	if shift >= WhiteKey/2 {
		c += w.moves
	}
	c += w.move * int(min(shift, 2*WhiteKey)) / int(WhiteKey)
	if shift > 2*WhiteKey {
		c += w.farther * int(min(shift, 3*Octave)-2*WhiteKey) / int(WhiteKey)
	}
	return c, false
}

// step is the cost of two single notes in a row, joined or with the hand lifted
// in between, whichever is less; it tells whether the hand is lifted.
func (f *fingerer) step(s, t *stage, a, b, half int) (cost int, lifted bool) {
	k, l := s.down[0], t.down[0]
	d := t.from
	c := f.joined(s, t, d, a, b, half)
	if k == l {
		return c, false
	}
	if t.Wait < Lift && !f.far(d) {
		return c, false
	}
	if v := f.hop(a, b, d, t.Wait) >> half; v < c {
		return v, true
	}
	return c, false
}

// joined is the cost of two single notes in a row, d twelfths apart, played
// without a gap.
func (f *fingerer) joined(s, t *stage, d, a, b, half int) int {
	w := &f.w
	k, l := s.down[0], t.down[0]
	if k == l {
		switch {
		case a == b && t.Quick:
			return w.tremor
		case a != b && t.Quick:
			if b < a || a == 1 { // 3 2 1 3 2 1
				return 0
			}
			return w.restrike / 2
		case a != b:
			return w.restrike
		}
		return 0
	}
	slides := s.Grace && Black(k) && l == k+1 && !Black(l)
	if a == b && slides {
		return w.slide
	}
	c := int(f.pairs[a][b][d+farStep]) >> half
	if slides {
		c += w.noSlide
	}
	bk, bl := Black(k), Black(l)
	open := t.Wait >= Lift // time to reach in between the black keys
	if a == 3 && b == 4 {
		c += w.threeFour
	}
	if a == 3 && b == 4 && !bk && bl || a == 4 && b == 3 && bk && !bl {
		c += w.fourBlack
	}
	if a == 1 && bk && !bl {
		c += w.thumbWhite
	}
	if b == 1 && bl && !bk {
		c += w.thumbWhite
	}
	if a == 5 && bk && !bl && !(open && d <= -3) {
		c += w.fiveWhite
	}
	if b == 5 && bl && !bk && !(open && d >= 3) {
		c += w.fiveWhite
	}
	// Thumb passing: away from the thumb's side onto the thumb, or back over it.
	if a > 1 && b == 1 && d > 0 || a == 1 && b > 1 && d < 0 {
		thumbBlack, otherBlack := bl, bk
		if a == 1 {
			thumbBlack, otherBlack = bk, bl
		}
		switch {
		case thumbBlack == otherBlack:
			c += w.pass
		case thumbBlack:
			c += w.passBlack
		}
	}
	return c
}

// fingering turns a chosen option into the answer for a strike.
func (f *fingerer) fingering(s *stage, o int) Fingering {
	out := Fingering{Keys: make([]uint8, len(s.Keys)), Held: make([]uint8, len(s.Held))}
	if o >= len(s.opts) {
		return out
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
	return out
}
