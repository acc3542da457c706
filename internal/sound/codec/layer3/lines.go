package layer3

import (
	"math"
	"sync"
)

// Kinds of block, as the side information numbers them (the standard, 2.4.2.7).
const (
	long  = 0
	start = 1 // long, before short ones
	short = 2 // three short ones
	stop  = 3 // long, after short ones
)

// A block is a granule of both channels as lines.
type block struct {
	kind int
	// The lines of each channel. Of a short block the three windows lie side by side in
	// each band, as the standard orders them (2.4.3.4.8).
	x [channels][granule]float32
}

// A splitter turns granules of filtered samples into lines and chooses windows.
type splitter struct {
	ring   [3]filtered // the last three granules
	newest int         // of them
	kind   int         // of the last block
	top    int         // bands above are left out
	tables *transforms
}

// A filtered granule is the bands of both channels.
type filtered struct {
	band [channels]bandSamples
	// Sound begins in this third of the granule; 3: nowhere.
	begins int
	// How loud its thirds are, from subband quiet up.
	third [channels][3]float32
}

func newSplitter(kbps int) *splitter {
	s := &splitter{tables: cosines(), top: subbands}
	for i := range s.ring {
		s.ring[i].begins = 3
	}
	// What lies above is left out, so that its bits serve what can be heard better: the
	// hearing of most adults ends below (common knowledge; a choice, not a law).
	switch {
	case kbps < 160:
		s.top = 22 // 16.5 kHz
	case kbps < 192:
		s.top = 24 // 18 kHz
	case kbps < 256:
		s.top = 26 // 19.5 kHz
	default:
		s.top = 27 // 20.25 kHz
	}
	return s
}

// next is where the next granule is to be filtered into.
func (s *splitter) next() *filtered { return &s.ring[(s.newest+1)%3] }

func (s *splitter) ago(n int) *filtered { return &s.ring[(s.newest+3-n)%3] }

const (
	loudBand = 4       // attacks are looked for from 3 kHz up, where tones are weak
	loudTop  = 24      // and below 18 kHz
	leap     = 24      // an attack is so much louder, in power, than the 12 ms before
	audible  = 1e-7    // and louder than this, sum of squares of a third (-90 dB or so)
	spread   = 1.0 / 3 // mean over thirds
)

// push takes the granule written to next as the newest.
func (s *splitter) push() {
	before := s.ago(0)
	s.newest = (s.newest + 1) % 3
	f := s.ago(0)
	f.begins = 3
	for c := range channels {
		e := &f.third[c]
		*e = [3]float32{}
		for b := loudBand; b < min(loudTop, s.top); b++ {
			x := &f.band[c][b]
			for t := range 3 {
				var sum float32
				for _, v := range x[6*t : 6*t+6] {
					sum += float32(v * v)
				}
				e[t] += sum
			}
		}
		past := before.third[c]
		for t, v := range e {
			mean := float32((past[0] + past[1] + past[2]) * spread)
			if v > audible && v > float32(leap*mean) {
				f.begins = min(f.begins, t)
			}
			past[0], past[1], past[2] = past[1], past[2], v
		}
	}
}

// lines transforms the granules before the newest. The block reaches over the
// granules p and q; short windows lie in the last two thirds of p and the first two of q,
// and in q a start block does not reach further either.
func (s *splitter) lines(b *block) {
	p, q, after := s.ago(2), s.ago(1), s.ago(0)
	here := needsShort(p, q)
	next := needsShort(q, after)
	switch {
	case here, s.kind == start, next && s.kind == short:
		b.kind = short
	case s.kind == short:
		b.kind = stop
	case next:
		b.kind = start
	default:
		b.kind = long
	}
	s.kind = b.kind
	for c := range channels {
		x := &b.x[c]
		if b.kind == short {
			s.tables.short(&p.band[c], &q.band[c], s.top, x)
		} else {
			s.tables.long(b.kind, &p.band[c], &q.band[c], s.top, x)
		}
	}
}

// needsShort: an attack in the first two thirds of the later granule is heard before
// its time in any long block; one in the last two of the earlier granule in a stop block.
func needsShort(p, q *filtered) bool {
	return q.begins < 2 || p.begins == 1 || p.begins == 2
}

// transforms are windows and factors of the modified cosine transform (the standard,
// 2.4.3.4.10 with 2.4.3.4.10.3, and annex C.1.5.3.3).
//
// Problem: 18 lines from 36 windowed samples z of a band, the k-th the sum of
// z[n] cos(π/72 (2n+19)(2k+1)). The sum is folded to 18 terms, a cosine transform of
// type IV, which is one of type II and differences (y[k] = x[k] + x[k-1]), which falls
// apart into types II and IV of 9. 56 products for a band instead of 648.
type transforms struct {
	window [4][36]float32
	of18   [18]float32    // 2 cos(π(2n+1)/72)
	of9    [9]float32     // 2 cos(π(2n+1)/36)
	c      [4]float32     // cos 10°, 30°, 50°, 70°
	d      [3]float32     // cos 20°, 40°, 80°
	of6    [6][6]float32  // cosine transform of type IV of 6 points
	narrow [12]float32    // window of a short block
	cs, ca [8]float32     // butterflies against alias
	bandOf [granule]int16 // place of line 3f+w of the short blocks
}

var cosines = sync.OnceValue(func() *transforms {
	t := new(transforms)
	sin := func(n float64, of int) float32 { return float32(math.Sin(float64(math.Pi / float64(of) * (n + 0.5)))) }
	for i := range 36 {
		n := float64(i)
		// The scale makes the transform and the standard's inverse one.
		t.window[long][i] = sin(n, 36) / 9
		switch {
		case i < 18:
			t.window[start][i] = sin(n, 36) / 9
		case i < 24:
			t.window[start][i] = 1.0 / 9
		case i < 30:
			t.window[start][i] = sin(n-18, 12) / 9
		}
		switch {
		case i < 6:
		case i < 12:
			t.window[stop][i] = sin(n-6, 12) / 9
		case i < 18:
			t.window[stop][i] = 1.0 / 9
		default:
			t.window[stop][i] = sin(n, 36) / 9
		}
	}
	for i := range t.narrow {
		t.narrow[i] = sin(float64(i), 12) / 3
	}
	cos := func(x float64) float32 { return float32(math.Cos(float64(math.Pi * x))) }
	for n := range t.of18 {
		t.of18[n] = float32(2 * cos(float64(2*n+1)/72))
	}
	for n := range t.of9 {
		t.of9[n] = float32(2 * cos(float64(2*n+1)/36))
	}
	for i := range t.c {
		t.c[i] = cos(float64(2*i+1) / 18)
	}
	t.d = [3]float32{cos(1.0 / 9), cos(2.0 / 9), cos(4.0 / 9)}
	for k := range t.of6 {
		for n := range t.of6[k] {
			t.of6[k][n] = cos(float64((2*n+1)*(2*k+1)) / 24)
		}
	}
	// Table B.9.
	for i, c := range []float64{-0.6, -0.535, -0.33, -0.185, -0.095, -0.041, -0.0142, -0.0037} {
		t.cs[i] = float32(1 / math.Sqrt(1+float64(c*c)))
		t.ca[i] = float32(c / math.Sqrt(1+float64(c*c)))
	}
	for b := range len(shortBands) - 1 {
		from, to := shortBands[b], shortBands[b+1]
		for f := from; f < to; f++ {
			for w := range 3 {
				t.bandOf[3*f+w] = int16(3*from + w*(to-from) + f - from)
			}
		}
	}
	return t
})

func (t *transforms) long(kind int, p, q *bandSamples, top int, x *[granule]float32) {
	w := &t.window[kind]
	for b := range top {
		p, q := &p[b], &q[b]
		var u [18]float32
		for n := range 9 {
			u[n] = -float32(w[26-n]*q[8-n]) - float32(w[27+n]*q[9+n])
			u[9+n] = float32(w[n]*p[n]) - float32(w[17-n]*p[17-n])
		}
		t.four18(&u, (*[18]float32)(x[18*b:]))
	}
	clear(x[18*top:])
	for b := 1; b < top; b++ {
		down, up := (*[8]float32)(x[18*b-8:]), (*[8]float32)(x[18*b:])
		for i := range 8 {
			d, u := down[7-i], up[i]
			down[7-i] = float32(d*t.cs[i]) + float32(u*t.ca[i])
			up[i] = float32(u*t.cs[i]) - float32(d*t.ca[i])
		}
	}
}

// four18 is the cosine transform of type IV of 18 points: sums of u[n] cos(π/72 (2n+1)(2k+1)).
func (t *transforms) four18(u, x *[18]float32) {
	var even, odd [9]float32
	for n := range 9 {
		a, b := float32(u[n]*t.of18[n]), float32(u[17-n]*t.of18[17-n])
		even[n], odd[n] = a+b, float32((a-b)*t.of9[n])
	}
	t.two9(&even)
	t.two9(&odd)
	// odd is now of type II; its type IV by differences, and of both the whole.
	z := float32(0.5 * odd[0])
	last := float32(0.5 * even[0])
	x[0] = last
	for k := 1; ; k++ {
		last = z - last
		x[2*k-1] = last
		if k == 9 {
			break
		}
		last = even[k] - last
		x[2*k] = last
		z = odd[k] - z
	}
}

// two9 is the cosine transform of type II of 9 points: sums of v[n] cos(π/18 (2n+1)k).
func (t *transforms) two9(v *[9]float32) {
	s0, d0 := v[0]+v[8], v[0]-v[8]
	s1, d1 := v[1]+v[7], v[1]-v[7]
	s2, d2 := v[2]+v[6], v[2]-v[6]
	s3, d3 := v[3]+v[5], v[3]-v[5]
	m := v[4]
	h := float32(0.5*s1) - m
	c20, c40, c80 := t.d[0], t.d[1], t.d[2]
	c10, c30, c50, c70 := t.c[0], t.c[1], t.c[2], t.c[3]
	k := float32(c30 * d1)
	v[0] = (s0 + s2) + (s1 + s3) + m
	v[1] = (float32(c10*d0) + k) + (float32(c50*d2) + float32(c70*d3))
	v[2] = (h + float32(c20*s0)) - (float32(c80*s2) + float32(c40*s3))
	v[3] = float32(c30 * (d0 - d2 - d3))
	v[4] = (float32(c40*s0) - h) - (float32(c20*s2) - float32(c80*s3))
	v[5] = (float32(c50*d0) - k) - (float32(c70*d2) - float32(c10*d3))
	v[6] = float32(0.5*(s0+s2+s3)) - s1 - m
	v[7] = (float32(c70*d0) - k) + (float32(c10*d2) - float32(c50*d3))
	v[8] = (float32(c80*s0) - h) + (float32(c40*s2) - float32(c20*s3))
}

// short makes three blocks of 6 lines a band, and lays each line in its place.
func (t *transforms) short(p, q *bandSamples, top int, x *[granule]float32) {
	clear(x[:])
	w := &t.narrow
	for b := range top {
		var z [36]float32
		copy(z[:], p[b][:])
		copy(z[18:], q[b][:])
		for i := range 3 {
			z := (*[12]float32)(z[6+6*i:])
			var u [6]float32
			for n := range 3 {
				u[n] = -float32(w[8-n]*z[8-n]) - float32(w[9+n]*z[9+n])
				u[3+n] = float32(w[n]*z[n]) - float32(w[5-n]*z[5-n])
			}
			for k := range 6 {
				c := &t.of6[k]
				var sum float32
				for n := range u {
					sum += float32(u[n] * c[n])
				}
				x[t.bandOf[3*(6*b+k)+i]] = sum
			}
		}
	}
}
