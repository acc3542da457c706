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
	input   [2][reverbRun]float32 // of the lines, by channel
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
	reverbRun     = 256 // frames computed at a time, at most

	// The matrix loses nothing when its sums are divided by √8. They stand in
	// the lines undivided; what comes out of one is divided along with its loss.
	undivided = 2 * math.Sqrt2
)

func newReverb(wet float64) *reverb {
	r := &reverb{wet: float32(wet), before: make([]float32, 2*reverbDelay)}
	for i, n := range [8]int{1423, 1637, 1871, 2053, 2297, 2557, 2879, 3163} {
		r.lines[i] = make([]float32, n)
		r.loss[i] = float32((1 - reverbDamping) / undivided * math.Pow(10, -3*float64(n)/(reverbSeconds*Rate)))
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
	for len(frames) > 1 {
		n := r.run(len(frames) / 2)
		r.feed(frames[:2*n])
		r.answer(frames[:2*n])
		frames = frames[2*n:]
	}
}

// run is how many frames, at most n, can be computed before one of the rings
// comes to its end: so the loops over them need not look.
func (r *reverb) run(n int) int {
	n = min(n, reverbRun, (len(r.before)-r.now)/2)
	for i := range r.lines {
		n = min(n, len(r.lines[i])-r.at[i])
	}
	for c := range r.smear {
		for _, a := range r.smear[c] {
			n = min(n, len(a.line)-a.at)
		}
	}
	return n
}

// feed delays, filters and smears the frames.
func (r *reverb) feed(frames []float32) {
	const high = 0.985 // keeps the lowest octaves dry: 115 Hz
	n := len(frames) / 2
	before := r.before[r.now:][:2*n]
	var ring [4][]float32
	for i := range ring {
		a := &r.smear[i/2][i%2]
		ring[i] = a.line[a.at:][:n]
		a.at = (a.at + n) % len(a.line)
	}
	l0, l1, r0, r1 := ring[0][:n], ring[1][:n], ring[2][:n], ring[3][:n]
	left, right := r.input[0][:n], r.input[1][:n]
	inL, inR, yL, yR := r.highIn[0], r.highIn[1], r.highOut[0], r.highOut[1]
	for i := range n {
		xL, xR := before[2*i], before[2*i+1]
		before[2*i], before[2*i+1] = frames[2*i], frames[2*i+1]
		yL, yR = high*(yL+(xL-inL)), high*(yR+(xR-inR))
		inL, inR = xL, xR
		vL, vR := yL-0.6*l0[i], yR-0.6*r0[i]
		wL, wR := l0[i]+0.6*vL-0.6*l1[i], r0[i]+0.6*vR-0.6*r1[i]
		left[i], right[i] = (l1[i]+0.6*wL)*(undivided/2), (r1[i]+0.6*wR)*(undivided/2)
		l0[i], l1[i], r0[i], r1[i] = vL, wL, vR, wR
	}
	r.highIn, r.highOut = [2]float32{inL, inR}, [2]float32{yL, yR}
	r.now = (r.now + 2*n) % len(r.before)
}

// answer adds to the frames what comes out of the lines, and feeds them.
func (r *reverb) answer(frames []float32) {
	const held = reverbDamping
	n := len(frames) / 2
	var line [8][]float32
	for i, l := range r.lines {
		line[i] = l[r.at[i]:][:n]
		r.at[i] = (r.at[i] + n) % len(l)
	}
	l0, l1, l2, l3 := line[0][:n], line[1][:n], line[2][:n], line[3][:n]
	l4, l5, l6, l7 := line[4][:n], line[5][:n], line[6][:n], line[7][:n]
	left, right := r.input[0][:n], r.input[1][:n]
	loss, wet := r.loss, r.wet
	x0, x1, x2, x3 := r.damped[0], r.damped[1], r.damped[2], r.damped[3]
	x4, x5, x6, x7 := r.damped[4], r.damped[5], r.damped[6], r.damped[7]
	for i := range n {
		x0 = held*x0 + loss[0]*l0[i]
		x1 = held*x1 + loss[1]*l1[i]
		x2 = held*x2 + loss[2]*l2[i]
		x3 = held*x3 + loss[3]*l3[i]
		x4 = held*x4 + loss[4]*l4[i]
		x5 = held*x5 + loss[5]*l5[i]
		x6 = held*x6 + loss[6]*l6[i]
		x7 = held*x7 + loss[7]*l7[i]
		frames[2*i] += wet * (x0 - x2 + x4 - x6)
		frames[2*i+1] += wet * (x1 - x3 + x5 - x7)
		a0, a1, a2, a3 := x0+x1, x0-x1, x2+x3, x2-x3
		a4, a5, a6, a7 := x4+x5, x4-x5, x6+x7, x6-x7
		b0, b1, b2, b3 := a0+a2, a1+a3, a0-a2, a1-a3
		b4, b5, b6, b7 := a4+a6, a5+a7, a4-a6, a5-a7
		l, r := left[i], right[i]
		l0[i], l1[i], l2[i], l3[i] = b0+b4+l, b1+b5+r, b2+b6+l, b3+b7+r
		l4[i], l5[i], l6[i], l7[i] = b0-b4+l, b1-b5+r, b2-b6+l, b3-b7+r
	}
	r.damped = [8]float32{x0, x1, x2, x3, x4, x5, x6, x7}
}
