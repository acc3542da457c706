package sound

import "math"

// Strings are what rings along while the dampers are off: all strings of the piano, moved by
// those that are struck.
//
// Problem: with the pedal down a grand sounds wider and rings on, because every string
// answers to its partials; samples taken one by one have none of that. Method: after
// Lehtonen, Penttinen, Rauhala and Välimäki, "Analysis and modeling of piano sustain-pedal
// effects" (JASA 122(3), 2007; from memory): twelve string models, tuned to the lowest
// twelve keys, stand for all, since the partials of the higher strings are nearly among
// theirs. Each is a delay of one period that feeds itself through a loss, greater for high
// partials (the mean of two neighbours, whose delay is half a frame at every frequency, so
// that it does not detune). They are fed while the pedal is down, by its position, and
// damped as it rises. Cost: about 70 operations a frame, and none while nothing rings.
// Rejected: a model for each of the 88 keys; soft samples of related keys, which cost as
// much as the notes do; a longer room under the pedal, which has no pitch.
type strings struct {
	lines  [12][]float32
	at     [12]int
	before [12]float32 // the frame before, of each line
	held   [12]float32 // what a pass leaves, dampers off
	damped [12]float32 // and on
	moves  []lift
	open   float32 // how far the dampers are off, 0 to 1
	rests  bool    // nothing rings
	input  [stringsRun]float32
	sum    [2][stringsRun]float32
}

// A lift is a new position of the dampers at a frame of the take.
type lift struct {
	at   int
	open float32
}

const (
	stringsRing  = 7.0    // seconds until 60 dB lower, dampers off, low partials
	stringsDamp  = 0.35   // and on
	stringsDrive = 0.0016 // of the sound that moves them: settled by the 15 to 40 dB that the pedal's share lies below a held note
	stringsRun   = 256    // frames at a time, at most
	stringsRest  = 1e-7   // quieter is silence
)

func newStrings(moves []lift) *strings {
	s := &strings{moves: moves, rests: true}
	for i := range s.lines {
		hertz := 27.5 * math.Exp2(float64(i)/12)
		n := int(math.Round(Rate/hertz - 0.5))
		s.lines[i] = make([]float32, n)
		pass := func(seconds float64) float32 { return float32(math.Pow(10, -3*float64(n)/(seconds*Rate)) / 2) }
		s.held[i], s.damped[i] = pass(stringsRing), pass(stringsDamp)
	}
	return s
}

// add adds what rings along to the frames of the take that begin at frame at.
func (s *strings) add(frames []float32, at int) {
	for len(frames) > 1 {
		n := min(len(frames)/2, stringsRun)
		for i := range s.lines {
			n = min(n, len(s.lines[i])-s.at[i])
		}
		open := s.open
		for len(s.moves) > 0 && s.moves[0].at <= at {
			open = s.moves[0].open
			s.moves = s.moves[1:]
		}
		if !s.rests || open > 0 || s.open > 0 {
			s.run(frames[:2*n], open)
		} else {
			for i, l := range s.lines {
				s.at[i] = (s.at[i] + n) % len(l)
			}
		}
		frames, at = frames[2*n:], at+n
	}
}

// run moves the dampers to open over the frames.
func (s *strings) run(frames []float32, open float32) {
	n := len(frames) / 2
	in, left, right := s.input[:n], s.sum[0][:n], s.sum[1][:n]
	drive, step := s.open*stringsDrive, (open-s.open)*stringsDrive/float32(n)
	for i := range in {
		drive += step
		in[i] = (frames[2*i] + frames[2*i+1]) * drive
	}
	clear(left)
	clear(right)
	s.open = open
	for k := 0; k < len(s.lines); k += 4 { // low and high strings on both sides: neighbours alternate
		var line [4][]float32
		var loss [4]float32
		for j := range line {
			l := s.lines[k+j]
			line[j] = l[s.at[k+j]:][:n]
			s.at[k+j] = (s.at[k+j] + n) % len(l)
			loss[j] = s.damped[k+j] + (s.held[k+j]-s.damped[k+j])*open
		}
		l0, l1, l2, l3 := line[0][:n], line[1][:n], line[2][:n], line[3][:n]
		b0, b1, b2, b3 := s.before[k], s.before[k+1], s.before[k+2], s.before[k+3]
		c0, c1, c2, c3 := loss[0], loss[1], loss[2], loss[3]
		for i := range n {
			x0, x1, x2, x3 := l0[i], l1[i], l2[i], l3[i]
			y0, y1, y2, y3 := c0*(x0+b0), c1*(x1+b1), c2*(x2+b2), c3*(x3+b3)
			b0, b1, b2, b3 = x0, x1, x2, x3
			m := in[i]
			l0[i], l1[i], l2[i], l3[i] = m+y0, m+y1, m+y2, m+y3
			left[i] += y0 + y2
			right[i] += y1 + y3
		}
		s.before[k], s.before[k+1], s.before[k+2], s.before[k+3] = b0, b1, b2, b3
	}
	top := float32(0)
	for i := range n {
		x, y := left[i], right[i]
		top = max(top, x, -x, y, -y)
		frames[2*i] += 0.8*x + 0.6*y
		frames[2*i+1] += 0.6*x + 0.8*y
	}
	// Twelve lines of different length: silence of one run may be followed by sound.
	if s.rests = open == 0 && top < stringsRest && s.silent(); s.rests {
		for k := range s.lines {
			clear(s.lines[k])
			s.before[k] = 0
		}
	}
}

func (s *strings) silent() bool {
	for _, l := range s.lines {
		if largest(l) > stringsRest {
			return false
		}
	}
	return true
}
