package measure

import "math"

// Rate is the sample rate, in frames a second, that every measurement here
// expects. The filter coefficients of BS.1770 are printed for this rate.
const Rate = 48000

// A Loudness meters programme loudness as ITU-R BS.1770-4 defines it: two
// K-weighting filters, mean square over 400 ms blocks that overlap by three
// quarters, an absolute gate at -70 LUFS and a relative gate 10 LU below.
//
// It keeps one number for each 100 ms, so an hour of sound costs 288 kB. The
// zero value is ready.
type Loudness struct {
	state [2]weighting // of the channels
	sum   float64      // weighted square sum of the open 100 ms
	count int          // frames in it
	tenth []float64    // mean square of each whole 100 ms, channels added
}

const tenthFrames = Rate / 10

// weighting is the memory of a channel's two second-order filters (transposed
// direct form): a and b of the first, c and d of the second.
type weighting struct{ a, b, c, d float64 }

// The two stages at 48 kHz: BS.1770-4, annex 1, tables 1 and 2.
const (
	shelfB0, shelfB1, shelfB2 = 1.53512485958697, -2.69169618940638, 1.19839281085285
	shelfA1, shelfA2          = -1.69065929318241, 0.73248077421585
	highB1                    = -2.0
	highA1, highA2            = -1.99004745483398, 0.99007225036621
)

// Add meters interleaved stereo frames, full scale 1.
func (l *Loudness) Add(frames []float32) {
	for len(frames) > 1 {
		n := min(len(frames)/2, tenthFrames-l.count)
		l.add(frames[:2*n])
		frames = frames[2*n:]
		if l.count += n; l.count == tenthFrames {
			l.tenth = append(l.tenth, l.sum/tenthFrames)
			l.sum, l.count = 0, 0
		}
	}
}

// add meters frames of one tenth of a second.
func (l *Loudness) add(frames []float32) {
	left, right, sum := l.state[0], l.state[1], l.sum
	for ; len(frames) > 1; frames = frames[2:] {
		var y, z float64
		left, y = left.filter(float64(frames[0]))
		right, z = right.filter(float64(frames[1]))
		sum += y*y + z*z
	}
	l.state[0], l.state[1], l.sum = left, right, sum
}

// filter weights one sample by both stages. It takes and returns the memory by
// value, so that it stays in registers.
func (w weighting) filter(x float64) (weighting, float64) {
	y := shelfB0*x + w.a
	z := y + w.c
	return weighting{
		a: shelfB1*x + w.b - shelfA1*y,
		b: shelfB2*x - shelfA2*y,
		c: highB1*y + w.d - highA1*z,
		d: y - highA2*z,
	}, z
}

// Integrated returns the gated loudness in LUFS. Sound shorter than one block
// of 400 ms is metered as if silence followed; silence is minus infinity.
func (l *Loudness) Integrated() float64 {
	tenth := l.tenth
	if len(tenth) < 4 {
		tenth = append(append([]float64(nil), tenth...), l.sum/tenthFrames, 0, 0, 0)[:4]
	}
	mean := func(gate float64) float64 {
		sum, n := 0.0, 0
		for i := 0; i+4 <= len(tenth); i++ {
			p := (tenth[i] + tenth[i+1] + tenth[i+2] + tenth[i+3]) / 4
			if level(p) > gate {
				sum += p
				n++
			}
		}
		if n == 0 {
			return math.Inf(-1)
		}
		return level(sum / float64(n))
	}
	ungated := mean(-70)
	if math.IsInf(ungated, -1) {
		return ungated
	}
	return mean(max(ungated-10, -70))
}

// level turns a weighted mean square into LUFS.
func level(p float64) float64 { return -0.691 + 10*math.Log10(p) }
