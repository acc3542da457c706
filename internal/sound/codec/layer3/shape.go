package layer3

import "math"

// A shape is the form of the noise over the bands of a part: its scale factors (the
// standard, 2.4.2.7).
type shape struct {
	factor   [36]uint8
	coarse   bool // scalefac_scale: steps of 6 dB instead of 3
	pre      bool // preflag: what the standard's table adds
	same     [4]bool
	compress int // scalefac_compress
	bits     int
	base     float32 // binary logarithm of the step of a band with factor 0
}

// preset is added to the factors of a long block with preflag (table B.6).
var preset = [36]uint8{11: 1, 12: 1, 13: 1, 14: 1, 15: 2, 16: 2, 17: 3, 18: 3, 19: 3, 20: 2}

// groups are the bands that may be taken over from the first granule together (2.4.2.7, scfsi).
var groups = [5]int{0, 6, 11, 16, 21}

// relief is how much finer band b is rounded, in steps of global_gain.
func (s *shape) relief(b int) int {
	if b >= len(s.factor) {
		return 0
	}
	n := int(s.factor[b])
	if s.pre {
		n += int(preset[b])
	}
	if s.coarse {
		return 4 * n
	}
	return 2 * n
}

// free marks a band whose step does not matter.
const free = math.MaxFloat32

// fit chooses factors for the steps that bands should have, as binary logarithms; free where any will do.
//
// A factor divides the step of a band by √2 (or 2), from that of the coarsest band. The
// first granule's are taken over by the second where they differ little, which saves their bits.
func (s *shape) fit(kind int, want *[maxBands]float32, first *shape) {
	l := layoutOf(kind)
	*s = shape{}
	s.base = -free
	for _, w := range want[:l.factors] {
		if w < free {
			s.base = max(s.base, w)
		}
	}
	if w := want[l.factors]; w < free {
		s.base = min(s.base, w) // the last band has no factor
	}
	if s.base == -free {
		s.base = 0
		s.pack(l)
		return
	}
	var n [36]int
	most := [2]int{}
	for b, w := range want[:l.factors] {
		n[b] = 0
		if w < s.base {
			n[b] = int(float32(float32(2*(s.base-w)) + 0.5))
		}
		group := 0
		if b >= l.first {
			group = 1
		}
		most[group] = max(most[group], n[b])
	}
	room := 7
	if kind != short {
		room = 9
	}
	if most[0] > 15 || most[1] > room {
		s.coarse = true
		for b := range n {
			n[b] = (n[b] + 1) / 2
		}
	}
	if kind != short {
		s.pre = true
		for b := l.first; b < l.factors; b++ {
			if n[b] < int(preset[b]) {
				s.pre = false
			}
		}
	}
	for b := range l.factors {
		v := n[b]
		if s.pre {
			v -= int(preset[b])
		}
		if b < l.first {
			v = min(v, 15)
		} else {
			v = min(v, 7)
		}
		s.factor[b] = uint8(v)
	}
	if first != nil && first.coarse == s.coarse && first.pre == s.pre {
		for g := range s.same {
			from, to := groups[g], groups[g+1]
			s.same[g] = true
			for b := from; b < to; b++ {
				d := int(s.factor[b]) - int(first.factor[b])
				if want[b] < free && (d > 1 || d < -1) {
					s.same[g] = false
				}
			}
			if s.same[g] {
				copy(s.factor[from:to], first.factor[from:to])
			}
		}
	}
	s.pack(l)
}

// pack chooses the lengths of factors.
func (s *shape) pack(l *layout) {
	var most [2]uint8
	var count [2]int
	for b, v := range s.factor[:l.factors] {
		if s.shared(l, b) {
			continue
		}
		g := 0
		if b >= l.first {
			g = 1
		}
		most[g] = max(most[g], v)
		count[g]++
	}
	s.bits = -1
	for i, n := range lengths {
		if int(most[0]) >= 1<<n[0] || int(most[1]) >= 1<<n[1] {
			continue
		}
		if b := count[0]*int(n[0]) + count[1]*int(n[1]); s.bits < 0 || b < s.bits {
			s.bits, s.compress = b, i
		}
	}
}

func (s *shape) shared(l *layout, b int) bool {
	if l.factors == 36 {
		return false
	}
	for g := range s.same {
		if b < groups[g+1] {
			return s.same[g]
		}
	}
	return false
}

// write writes the factors that are not taken over.
func (s *shape) write(b *bits, kind int) {
	l := layoutOf(kind)
	n := lengths[s.compress]
	for i, v := range s.factor[:l.factors] {
		if s.shared(l, i) {
			continue
		}
		if i < l.first {
			b.add(uint32(v), n[0])
		} else {
			b.add(uint32(v), n[1])
		}
	}
}
