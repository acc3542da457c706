package hand

// The candidates: the ways to finger the keys that are down at one moment, with
// what each costs on its own.

import (
	"slices"

	"gradatim/score"
)

// option is one way to finger a strike.
type option struct {
	fingers [MaxKeys]uint8 // of the keys down, from the thumb's side
	cost    int            // within the strike
	thumb   Length         // where the thumb would lie, away from its side
	forced  bool           // beyond what fingers can; nothing better exists
}

// pool holds the ways to finger the strikes of a hand. Most strikes have come before.
type pool struct {
	options []option
	last    [128]*stage // the last one, by its key on the thumb's side
}

// optionsOf returns the ways to finger keys that are down together, from the thumb's side.
func (p *pool) optionsOf(f *fingerer, down []int, strike *Strike) []option {
	if len(down) == 0 {
		return nil
	}
	if s := p.last[down[0]&127]; s != nil && slices.Equal(s.down[:s.n], down) && s.Rolled == strike.Rolled &&
		(len(s.Held) == 0) == (len(strike.Held) == 0) && s.Strike.plain() && strike.plain() {
		return s.opts
	}
	start := len(p.options)
	p.options = f.options(down, strike, p.options)
	return p.options[start:]
}

// plain tells whether nothing but its keys says how a strike can be fingered.
func (s *Strike) plain() bool { return s.Asked == nil && s.Ornaments == nil }

// prepare lists the ways to finger a strike. Held keys that cannot be kept with
// what is struck are let go, the farthest first.
func (f *fingerer) prepare(s *stage, strike *Strike, pool *pool) {
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
			opts := pool.optionsOf(f, down, strike)
			if len(held) == 0 || len(opts) > 0 && !opts[0].forced {
				s.opts = opts
				s.n = copy(s.down[:], down)
				for i, k := range down {
					s.struck[i] = slices.Contains(keys, k)
				}
				if len(down) > 0 {
					pool.last[down[0]&127] = s
				}
				return
			}
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
func (f *Grip) options(down []int, strike *Strike, pool []option) []option {
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
			o.cost = f.within(down, set, strike) + f.ornamented(down, set, strike)
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

func anyAsked(s *Strike) bool {
	for _, g := range s.Asked {
		if g != 0 {
			return true
		}
	}
	return false
}

// asAsked tells whether a choice of fingers agrees with the fingers asked for.
func asAsked(down, set []int, s *Strike) bool {
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

// dyad is what two keys struck together, d twelfths apart, cost beyond what their
// fingers span: a third lies under fingers with one between them; a fifth and more
// under the outer ones, the more the wider it is.
func (f *Grip) dyad(d, a, b int) int {
	switch {
	case d == 3 || d == 4:
		switch {
		case b-a == 2:
			return 0
		case a == 1 && b == 2:
			return f.w.third / 2
		case b-a == 1:
			if b == 5 {
				return f.w.third + f.w.outerThird
			}
			return f.w.third
		}
	case d == 7 && (a != 1 || b < 4), (d == 8 || d == 9) && (a != 1 || b < 4):
		c := f.w.spread
		if a != 1 {
			return c
		}
		return c * (4 - b) * (d - 6) / 2
	case d >= 10 && d <= 11 && (a != 1 || b != 5):
		return f.w.spread * (6 - b + a - 1)
	case d == 12 && (a != 1 || b < 4):
		return f.w.spread * 3
	case d > 13 && (a != 1 || b != 5):
		return f.w.idle
	case f.h == score.Left && (d == 7 || d == 12) && (a != 1 || b != 5): // as they are taught
		return f.w.idle
	case d >= 6 && a != 1:
		return f.w.idle
	}
	return 0
}

// ornamented is the cost of ornaments whose other notes no free finger plays:
// those of the keys down beside an ornament are not free.
func (f *Grip) ornamented(down, set []int, s *Strike) int {
	c := 0
	for i, o := range s.Ornaments {
		inner, outer := neighbours(o) // below and above, in the right hand
		if f.h == score.Left {
			inner, outer = outer, inner
		}
		j := -1
		if i < len(s.Keys) {
			j = slices.Index(down, s.Keys[i])
		}
		if j < 0 || !inner && !outer {
			continue
		}
		lo, hi := 0, 6
		if j > 0 {
			lo = set[j-1]
		}
		if j+1 < len(set) {
			hi = set[j+1]
		}
		if inner && set[j]-1 <= lo {
			c += f.w.ornament
		}
		if outer && set[j]+1 >= hi {
			c += f.w.ornament
		}
	}
	return c
}

// neighbours tells which neighbours of its note an ornament plays.
func neighbours(o score.Ornament) (below, above bool) {
	switch o {
	case score.Mordent:
		return true, false
	case score.UpperMordent, score.Trill:
		return false, true
	case score.Turn:
		return true, true
	}
	return false, false
}

// within is the cost of a strike on its own.
func (f *Grip) within(down, set []int, strike *Strike) int {
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
	shaped := f.shapes && last > 1 && len(strike.Held) == 0
	if shaped && f.way(down[0], down[last]) >= 7 && (set[0] != 1 || set[last] != 5) {
		c += w.frame
	}
	for i := range last {
		off := Distance(down[i], down[i+1]) - (restingOffset[set[i+1]] - restingOffset[set[i]])
		if off < 0 {
			off = -off
		}
		settle := w.settle
		if shaped && set[i] != 1 { // the thumb stands anywhere
			settle = w.shape
		}
		if shaped && set[i] == 4 {
			if d := f.way(down[i], down[i+1]); d == 3 || d == 4 {
				c += w.third / 2
			}
		}
		c += cost(i, i+1) + settle*int(min(off, Octave))/int(WhiteKey)
	}
	if last > 1 {
		c += cost(0, last)
	}
	if last == 1 && len(strike.Held) == 0 {
		c += f.dyad(f.way(down[0], down[1]), set[0], set[1])
	}
	if set[last] == 5 && Black(down[last]) && last == 1 && f.way(down[0], down[1]) == 12 {
		c += w.fiveChord
	}
	return c
}
