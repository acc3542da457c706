package sound

import "math"

// A limiter keeps peaks under a ceiling without distorting them: it knows the
// next 5 ms, lets the gain fall smoothly so that it has arrived when the peak
// does, and rise again within some 0.15 s.
//
// The gain wanted for each frame is taken as a minimum over the window ahead
// (a queue of falling candidates), then released by a one-pole filter and
// averaged over a window of the same length: the average over a window whose
// every value allows the peak allows it too.
type limiter struct {
	ceiling float32
	rise    float64
	gain    float64
	sum     float64           // of past
	past    [look]float32     // gains of the last frames
	delay   [2 * look]float32 // frames not yet played
	queue   []candidate       // wanted gains that fall towards the front
	frame   int               // frames taken in
	least   float32           // smallest gain used
	out     []float32
}

type candidate struct {
	frame int
	gain  float32
}

const (
	look = Rate * 5 / 1000

	// What is nearer to 1 than a thousandth of a decibel is taken for it: then
	// there is nothing to compute until the next peak.
	settled = 1 - 1e-4
)

func newLimiter(ceiling float64) *limiter {
	l := &limiter{ceiling: float32(ceiling), rise: 1 - math.Exp(-1/(0.15*Rate)), gain: 1, sum: look, least: 1}
	for i := range l.past {
		l.past[i] = 1
	}
	return l
}

// add takes frames in and returns those that are ready, look frames late. The
// result is valid until the next call.
func (l *limiter) add(frames []float32) []float32 {
	l.out = l.out[:0]
	if l.rests() && len(frames) >= len(l.delay) && largest(frames) <= l.ceiling {
		k := 2 * (l.frame % look)
		l.out = append(append(l.out, l.delay[k:]...), l.delay[:k]...)
		l.out = append(l.out, frames[:len(frames)-len(l.delay)]...)
		l.frame += len(frames) / 2
		k = 2 * (l.frame % look)
		n := copy(l.delay[k:], frames[len(frames)-len(l.delay):])
		copy(l.delay[:k], frames[len(frames)-len(l.delay)+n:])
		return l.out
	}
	for i := 0; i+1 < len(frames); i += 2 {
		l.push(frames[i], frames[i+1])
	}
	return l.out
}

// rest returns the frames still held back.
func (l *limiter) rest() []float32 {
	l.out = l.out[:0]
	for range min(look, l.frame) {
		l.push(0, 0)
	}
	return l.out
}

// rests tells whether sound passes unchanged.
func (l *limiter) rests() bool {
	return l.frame >= look && l.gain == 1 && l.sum == look && len(l.queue) == 0
}

func (l *limiter) push(left, right float32) {
	// At frame i the sound of frame i-look is played; the window of wanted
	// gains reaches from there to here.
	if p := max(left, -left, right, -right); p > l.ceiling {
		want := l.ceiling / p
		for len(l.queue) > 0 && l.queue[len(l.queue)-1].gain >= want {
			l.queue = l.queue[:len(l.queue)-1]
		}
		l.queue = append(l.queue, candidate{l.frame, want})
	}
	low := 1.0
	if len(l.queue) > 0 {
		if l.queue[0].frame < l.frame-look {
			l.queue = l.queue[1:]
		}
		if len(l.queue) > 0 {
			low = float64(l.queue[0].gain)
		}
	}
	if low < l.gain {
		l.gain = low
	} else if l.gain += l.rise * (low - l.gain); low == 1 && l.gain > settled {
		l.gain = 1
	}
	k := l.frame % look
	gain := float32(l.gain) // sums of 32-bit numbers are exact
	l.sum += float64(gain) - float64(l.past[k])
	l.past[k] = gain
	if l.frame >= look {
		g := min(float32(l.sum/look), 1)
		l.least = min(l.least, g)
		c := l.ceiling // rounding must not exceed it
		l.out = append(l.out, min(max(l.delay[2*k]*g, -c), c), min(max(l.delay[2*k+1]*g, -c), c))
	}
	l.delay[2*k], l.delay[2*k+1] = left, right
	l.frame++
}

// deepest is the most that was taken off, in dB, 0 or less.
func (l *limiter) deepest() float64 { return 20 * math.Log10(float64(l.least)) }
