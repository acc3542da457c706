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
	for len(frames) > 1 {
		n := r.run(len(frames) / 2)
		for c := range r.input {
			r.feed(c, frames[:2*n])
		}
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

// feed delays, filters and smears a channel of the frames.
func (r *reverb) feed(c int, frames []float32) {
	const high = 0.985 // keeps the lowest octaves dry: 115 Hz
	n := len(frames) / 2
	frames = frames[c:]
	before := r.before[r.now+c:][:len(frames)]
	p, q := &r.smear[c][0], &r.smear[c][1]
	first, second, out := p.line[p.at:][:n], q.line[q.at:][:n], r.input[c][:n]
	in, y := r.highIn[c], r.highOut[c]
	for i := range out {
		x := before[2*i]
		before[2*i] = frames[2*i]
		y = high * (y + x - in)
		in = x
		d, e := first[i], second[i]
		v := y - 0.6*d
		w := d + 0.6*v - 0.6*e
		first[i], second[i] = v, w
		out[i] = (e + 0.6*w) / 2
	}
	r.highIn[c], r.highOut[c] = in, y
	p.at, q.at = (p.at+n)%len(p.line), (q.at+n)%len(q.line)
	if c == len(r.input)-1 {
		r.now = (r.now + 2*n) % len(r.before)
	}
}

// answer adds to the frames what comes out of the lines, and feeds them.
func (r *reverb) answer(frames []float32) {
	const (
		held  = reverbDamping
		fresh = 1 - reverbDamping
		q     = 0.35355339 // 1/√8 keeps the matrix lossless
	)
	n := len(frames) / 2
	var line [8][]float32
	for i, l := range r.lines {
		line[i] = l[r.at[i]:][:n]
		r.at[i] = (r.at[i] + n) % len(l)
	}
	l0, l1, l2, l3 := line[0], line[1][:n], line[2][:n], line[3][:n]
	l4, l5, l6, l7 := line[4][:n], line[5][:n], line[6][:n], line[7][:n]
	left, right := r.input[0][:n], r.input[1][:n]
	d, loss, wet := r.damped, r.loss, r.wet
	for i := range n {
		d[0] = held*d[0] + fresh*l0[i]
		d[1] = held*d[1] + fresh*l1[i]
		d[2] = held*d[2] + fresh*l2[i]
		d[3] = held*d[3] + fresh*l3[i]
		d[4] = held*d[4] + fresh*l4[i]
		d[5] = held*d[5] + fresh*l5[i]
		d[6] = held*d[6] + fresh*l6[i]
		d[7] = held*d[7] + fresh*l7[i]
		x0, x1, x2, x3 := d[0]*loss[0], d[1]*loss[1], d[2]*loss[2], d[3]*loss[3]
		x4, x5, x6, x7 := d[4]*loss[4], d[5]*loss[5], d[6]*loss[6], d[7]*loss[7]
		frames[2*i] += wet * (x0 - x2 + x4 - x6)
		frames[2*i+1] += wet * (x1 - x3 + x5 - x7)
		a0, a1, a2, a3 := x0+x1, x0-x1, x2+x3, x2-x3
		a4, a5, a6, a7 := x4+x5, x4-x5, x6+x7, x6-x7
		b0, b1, b2, b3 := a0+a2, a1+a3, a0-a2, a1-a3
		b4, b5, b6, b7 := a4+a6, a5+a7, a4-a6, a5-a7
		l, r := left[i], right[i]
		l0[i], l1[i], l2[i], l3[i] = (b0+b4)*q+l, (b1+b5)*q+r, (b2+b6)*q+l, (b3+b7)*q+r
		l4[i], l5[i], l6[i], l7[i] = (b0-b4)*q+l, (b1-b5)*q+r, (b2-b6)*q+l, (b3-b7)*q+r
	}
	r.damped = d
}
