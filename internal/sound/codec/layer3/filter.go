package layer3

import (
	"math"
	"sync"
)

// A filterbank is the polyphase analysis of one channel (the standard, 2.4.3.4.4
// and figure C.4): it splits 576 samples into 32 bands of 18.
//
// The standard's matrix of 32 × 64 cosines is folded at its symmetries to a cosine
// transform of 32 points (type III), which is done in 80 products: 512 + 80 for 32
// samples instead of 512 + 2048.
type filterbank struct {
	// The last samples, the newest first: 480 of the past behind those of a granule.
	past [granule + window - subbands]float32
}

const window = 512

// taps is the window of the standard, table C.1.
var taps = sync.OnceValue(func() *[window]float32 {
	// Table B.3 in units of 2⁻¹⁶; table C.1 is a 32nd of it. The second half
	// mirrors the first, with the other sign but at multiples of 64.
	half := [...]int32{
		0, -1, -1, -1, -1, -1, -1, -2, -2, -2, -2, -3, -3, -4, -4, -5,
		-5, -6, -7, -7, -8, -9, -10, -11, -13, -14, -16, -17, -19, -21, -24, -26,
		-29, -31, -35, -38, -41, -45, -49, -53, -58, -63, -68, -73, -79, -85, -91, -97,
		-104, -111, -117, -125, -132, -139, -147, -154, -161, -169, -176, -183, -190, -196, -202, -208,
		213, 218, 222, 225, 227, 228, 228, 227, 224, 221, 215, 208, 200, 189, 177, 163,
		146, 127, 106, 83, 57, 29, -2, -36, -72, -111, -153, -197, -244, -294, -347, -401,
		-459, -519, -581, -645, -711, -779, -848, -919, -991, -1064, -1137, -1210, -1283, -1356, -1428, -1498,
		-1567, -1634, -1698, -1759, -1817, -1870, -1919, -1962, -2001, -2032, -2057, -2075, -2085, -2087, -2080, -2063,
		2037, 2000, 1952, 1893, 1822, 1739, 1644, 1535, 1414, 1280, 1131, 970, 794, 605, 402, 185,
		-45, -288, -545, -814, -1095, -1388, -1692, -2006, -2330, -2663, -3004, -3351, -3705, -4063, -4425, -4788,
		-5153, -5517, -5879, -6237, -6589, -6935, -7271, -7597, -7910, -8209, -8491, -8755, -8998, -9219, -9416, -9585,
		-9727, -9838, -9916, -9959, -9966, -9935, -9863, -9750, -9592, -9389, -9139, -8840, -8492, -8092, -7640, -7134,
		6574, 5959, 5288, 4561, 3776, 2935, 2037, 1082, 70, -998, -2122, -3300, -4533, -5818, -7154, -8540,
		-9975, -11455, -12980, -14548, -16155, -17799, -19478, -21189, -22929, -24694, -26482, -28289, -30112, -31947, -33791, -35640,
		-37489, -39336, -41176, -43006, -44821, -46617, -48390, -50137, -51853, -53534, -55178, -56778, -58333, -59838, -61289, -62684,
		-64019, -65290, -66494, -67629, -68692, -69679, -70590, -71420, -72169, -72835, -73415, -73908, -74313, -74630, -74856, -74992,
		75038,
	}
	var t [window]float32
	for i := range t {
		v := half[min(i, window-i)]
		if i > window/2 && i%64 != 0 {
			v = -v
		}
		t[i] = float32(v) / (1 << 21)
	}
	return &t
})

// bandSamples are the samples of each band, in order of time.
type bandSamples [subbands][slots]float32

// filter splits in; every second sample of every second band changes its sign,
// as the standard wants it before the transform (2.4.3.4.10.1).
func (f *filterbank) filter(in *[granule]float32, out *bandSamples) {
	c, h := taps(), secants()
	copy(f.past[granule:], f.past[:window-subbands])
	for i, x := range in {
		f.past[granule-1-i] = x
	}
	var v [subbands]float32
	for s := range slots {
		x := (*[window]float32)(f.past[granule-subbands*(s+1):])
		v[0] = tap(c, x, 16)
		for t := 1; t < 16; t++ {
			v[t] = tap(c, x, uint(16+t)) + tap(c, x, uint(16-t))
		}
		v[16] = tap(c, x, 32) + tap(c, x, 0)
		for t := 17; t < 32; t++ {
			v[t] = tap(c, x, uint(16+t)) - tap(c, x, uint(80-t))
		}
		cosine32(&v, h)
		for b := range v {
			out[b][s] = v[b]
		}
		if s%2 == 1 {
			for b := 1; b < subbands; b += 2 {
				out[b][s] = -out[b][s]
			}
		}
	}
}

// tap is one of the 64 sums over the window.
func tap(c, x *[window]float32, i uint) float32 {
	i &= 63
	a := float32(c[i]*x[i]) + float32(c[i+64]*x[i+64])
	b := float32(c[i+128]*x[i+128]) + float32(c[i+192]*x[i+192])
	d := float32(c[i+256]*x[i+256]) + float32(c[i+320]*x[i+320])
	e := float32(c[i+384]*x[i+384]) + float32(c[i+448]*x[i+448])
	return (a + b) + (d + e)
}

// halves are 1 / (2 cos((2s+1)π/2N)) for N = 4, 8, 16 and 32, and for N = 2 its one factor.
type halves struct {
	of2  float32
	of4  [2]float32
	of8  [4]float32
	of16 [8]float32
	of32 [16]float32
}

var secants = sync.OnceValue(func() *halves {
	h := new(halves)
	for _, f := range [][]float32{h.of4[:], h.of8[:], h.of16[:], h.of32[:]} {
		for s := range f {
			f[s] = float32(0.5 / math.Cos(float64(float64(2*s+1)*math.Pi/float64(4*len(f)))))
		}
	}
	h.of2 = float32(math.Sqrt(0.5))
	return h
})

// cosine32 replaces v by the sums over t of v[t] cos((2s+1)tπ/64): the terms of even
// t are such a sum of half the length, and so are, times 2 cos((2s+1)π/64), those of odd t.
// (B. G. Lee, A new algorithm to compute the discrete cosine transform, IEEE
// Transactions ASSP 32, 1984.)
func cosine32(v *[32]float32, h *halves) {
	var even, odd [16]float32
	odd[0] = v[1]
	even[0] = v[0]
	for t := 1; t < 16; t++ {
		even[t] = v[2*t]
		odd[t] = v[2*t+1] + v[2*t-1]
	}
	cosine16(&even, h)
	cosine16(&odd, h)
	for s := range 16 {
		o := float32(odd[s] * h.of32[s])
		v[s], v[31-s] = even[s]+o, even[s]-o
	}
}

func cosine16(v *[16]float32, h *halves) {
	var even, odd [8]float32
	odd[0] = v[1]
	even[0] = v[0]
	for t := 1; t < 8; t++ {
		even[t] = v[2*t]
		odd[t] = v[2*t+1] + v[2*t-1]
	}
	cosine8(&even, h)
	cosine8(&odd, h)
	for s := range 8 {
		o := float32(odd[s] * h.of16[s])
		v[s], v[15-s] = even[s]+o, even[s]-o
	}
}

func cosine8(v *[8]float32, h *halves) {
	even := [4]float32{v[0], v[2], v[4], v[6]}
	odd := [4]float32{v[1], v[3] + v[1], v[5] + v[3], v[7] + v[5]}
	cosine4(&even, h)
	cosine4(&odd, h)
	for s := range 4 {
		o := float32(odd[s] * h.of8[s])
		v[s], v[7-s] = even[s]+o, even[s]-o
	}
}

func cosine4(v *[4]float32, h *halves) {
	e := float32(v[2] * h.of2)
	e0, e1 := v[0]+e, v[0]-e
	o := float32((v[3] + v[1]) * h.of2)
	o0, o1 := float32((v[1]+o)*h.of4[0]), float32((v[1]-o)*h.of4[1])
	v[0], v[3] = e0+o0, e0-o0
	v[1], v[2] = e1+o1, e1-o1
}
