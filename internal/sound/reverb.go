package sound

import "math"

// A reverb is a small room: a feedback delay network of eight lines.
//
// Problem: dry samples and released keys sound cut off. Method: Jot and
// Chaigne, "Digital delay networks for designing artificial reverberators"
// (AES 90th Convention, 1991): lines of mutually prime length feed each other
// through a lossless matrix (here Hadamard's), each losing per pass what gives
// the wanted decay, and losing high frequencies faster. Cost: about 60
// operations a frame. Rejected: convolution with a recorded room, which is
// denser and needs a recording, and transforms.
type reverb struct {
	wet     float32
	lines   [8][]float32
	at      [8]int
	loss    [8]float32
	damped  [8]float32
	smear   [2][2]allpass
	before  []float32 // the delay before the room answers
	now     int
	highIn  [2]float32
	highOut [2]float32
}

// allpass spreads an attack in time and leaves its spectrum alone.
type allpass struct {
	line []float32
	at   int
}

const (
	reverbSeconds = 1.3  // until 60 dB lower
	reverbDamping = 0.42 // share of the former value in each line's low-pass
	reverbDelay   = Rate * 14 / 1000
)

func newReverb(wet float64) *reverb {
	r := &reverb{wet: float32(wet), before: make([]float32, 2*reverbDelay)}
	for i, n := range [8]int{1423, 1637, 1871, 2053, 2297, 2557, 2879, 3163} {
		r.lines[i] = make([]float32, n)
		r.loss[i] = float32(math.Pow(10, -3*float64(n)/(reverbSeconds*Rate)))
	}
	for c, lengths := range [2][2]int{{241, 557}, {263, 521}} {
		for k, n := range lengths {
			r.smear[c][k].line = make([]float32, n)
		}
	}
	return r
}

// add adds the room's answer to interleaved stereo frames.
func (r *reverb) add(frames []float32) {
	const high = 0.985 // keeps the lowest octaves dry: 115 Hz
	for n := 0; n+1 < len(frames); n += 2 {
		var in [2]float32
		for c := range in {
			x := r.before[r.now+c]
			r.before[r.now+c] = frames[n+c]
			y := high * (r.highOut[c] + x - r.highIn[c])
			r.highIn[c], r.highOut[c] = x, y
			for k := range r.smear[c] {
				a := &r.smear[c][k]
				d := a.line[a.at]
				v := y - 0.6*d
				a.line[a.at] = v
				y = d + 0.6*v
				if a.at++; a.at == len(a.line) {
					a.at = 0
				}
			}
			in[c] = y / 2
		}
		if r.now += 2; r.now == len(r.before) {
			r.now = 0
		}
		var x [8]float32
		for i := range x {
			y := r.lines[i][r.at[i]]
			r.damped[i] = reverbDamping*r.damped[i] + (1-reverbDamping)*y
			x[i] = r.damped[i] * r.loss[i]
		}
		frames[n] += r.wet * (x[0] - x[2] + x[4] - x[6])
		frames[n+1] += r.wet * (x[1] - x[3] + x[5] - x[7])
		a0, a1, a2, a3 := x[0]+x[1], x[0]-x[1], x[2]+x[3], x[2]-x[3]
		a4, a5, a6, a7 := x[4]+x[5], x[4]-x[5], x[6]+x[7], x[6]-x[7]
		b0, b1, b2, b3 := a0+a2, a1+a3, a0-a2, a1-a3
		b4, b5, b6, b7 := a4+a6, a5+a7, a4-a6, a5-a7
		const q = 0.35355339 // 1/√8 keeps the matrix lossless
		for i, y := range [8]float32{b0 + b4, b1 + b5, b2 + b6, b3 + b7, b0 - b4, b1 - b5, b2 - b6, b3 - b7} {
			r.lines[i][r.at[i]] = y*q + in[i&1]
			if r.at[i]++; r.at[i] == len(r.lines[i]) {
				r.at[i] = 0
			}
		}
	}
}
