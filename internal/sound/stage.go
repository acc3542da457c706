package sound

import "math"

// A stage is everything behind the mix that remembers: the one filter that all
// voices share, the reverb, the metronome and the fade at the end.
type stage struct {
	low        float32 // coefficient of the filter
	lowL, lowR float32
	reverb     *reverb // nil for none
	ticks      []tick
	clicks     [2][]float32 // plain, accented
	frames     int          // length of the take
	out        [2 * blockFrames]float32
}

// shelfHertz is where the shared low-pass filter has its corner.
const shelfHertz = 1000

const endFade = Rate / 4

func newStage(p plan, o Options) *stage {
	st := &stage{
		low:    float32(1 - math.Exp(-2*math.Pi*shelfHertz/Rate)),
		ticks:  p.ticks,
		frames: p.frames,
	}
	gain := math.Pow(10, o.Click/20)
	st.clicks = [2][]float32{clickSound(false, gain), clickSound(true, gain)}
	if o.Reverb > Off {
		st.reverb = newReverb(math.Pow(10, o.Reverb/20))
	}
	return st
}

// play turns the sums of the block at frame at into sound. The result is valid
// until the next call.
func (st *stage) play(at, frames int, s *sums) []float32 {
	out := st.out[:2*frames]
	l, r, k := st.lowL, st.lowR, st.low
	for i := 0; i+1 < len(out); i += 2 {
		l += k * (s.dark[i] - l)
		r += k * (s.dark[i+1] - r)
		out[i] = s.straight[i] + l
		out[i+1] = s.straight[i+1] + r
	}
	st.lowL, st.lowR = l, r
	if st.reverb != nil {
		st.reverb.add(out)
	}
	for len(st.ticks) > 0 && st.ticks[0].start+tickFrames <= at {
		st.ticks = st.ticks[1:]
	}
	for _, t := range st.ticks {
		if t.start >= at+frames {
			break
		}
		sound := st.clicks[0]
		if t.accent {
			sound = st.clicks[1]
		}
		for f := max(t.start, at); f < min(t.start+tickFrames, at+frames); f++ {
			x := sound[f-t.start]
			out[2*(f-at)] += x
			out[2*(f-at)+1] += x
		}
	}
	for f := max(at, st.frames-endFade); f < at+frames; f++ {
		g := float32(st.frames-f) / endFade
		out[2*(f-at)] *= g
		out[2*(f-at)+1] *= g
	}
	return out
}

const tickFrames = Rate * 6 / 100

// clickSound makes one stroke of the metronome: two damped sines like a struck
// wooden block, the accent a fourth higher and louder. They lie off the
// keyboard's pitches, so that no key of a tune agrees with them.
func clickSound(accent bool, gain float64) []float32 {
	hertz, level := 1250.0, 0.35
	if accent {
		hertz, level = 1670, 0.5
	}
	out := make([]float32, tickFrames)
	for i := range out {
		t := float64(i) / Rate
		x := math.Sin(2*math.Pi*hertz*t)*math.Exp(-t/0.009) + 0.5*math.Sin(2*math.Pi*2.71*hertz*t)*math.Exp(-t/0.004)
		end := min(1, float64(tickFrames-i)/(tickFrames/8))
		out[i] = float32(gain * level * x * end)
	}
	return out
}
