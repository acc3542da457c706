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
	state [2][2]section // channel, stage
	sum   float64       // weighted square sum of the open 100 ms
	count int           // frames in it
	tenth []float64     // mean square of each whole 100 ms, channels added
}

const tenthFrames = Rate / 10

// section is the memory of one second-order filter (transposed direct form).
type section struct{ a, b float64 }

// The two stages at 48 kHz: BS.1770-4, annex 1, tables 1 and 2.
const (
	shelfB0, shelfB1, shelfB2 = 1.53512485958697, -2.69169618940638, 1.19839281085285
	shelfA1, shelfA2          = -1.69065929318241, 0.73248077421585
	highB1                    = -2.0
	highA1, highA2            = -1.99004745483398, 0.99007225036621
)

// Add meters interleaved stereo frames, full scale 1.
func (l *Loudness) Add(frames []float32) {
	s := l.state
	for i := 0; i+1 < len(frames); i += 2 {
		for c := 0; c < 2; c++ {
			x := float64(frames[i+c])
			p, q := &s[c][0], &s[c][1]
			y := shelfB0*x + p.a
			p.a = shelfB1*x - shelfA1*y + p.b
			p.b = shelfB2*x - shelfA2*y
			z := y + q.a
			q.a = highB1*y - highA1*z + q.b
			q.b = y - highA2*z
			l.sum += z * z
		}
		if l.count++; l.count == tenthFrames {
			l.tenth = append(l.tenth, l.sum/tenthFrames)
			l.sum, l.count = 0, 0
		}
	}
	l.state = s
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
