package sound

import (
	"math"
	"math/cmplx"

	"gradatim/internal/sound/bank"
)

// A stage is everything behind the mix that remembers: the one filter that all
// voices share, the reverb, the metronome and the fade at the end.
type stage struct {
	low        float32    // coefficient of the filter
	lowL, lowR [2]float32 // its two stages
	airy       float32    // of the shelf over all (bank.Air)
	airL, airR float32
	strings    *strings // nil where no pedal moves
	reverb     *reverb  // nil for none
	frames     int      // length of the take
	out        [2 * blockFrames]float32
}

// shelfHertz is where the two stages of the shared low-pass filter have their corner.
const shelfHertz = 2000

func onePole(hertz float64) float64 { return 1 - math.Exp(-2*math.Pi*hertz/Rate) }

// lowPass is the response of y += onePole(corner)·(x − y).
func lowPass(hertz, corner float64) complex128 {
	k := onePole(corner)
	return complex(k, 0) / (1 - complex(1-k, 0)*cmplx.Rect(1, -2*math.Pi*hertz/Rate))
}

// air is the power response of that shelf.
func air(hertz float64) float64 {
	h := cmplx.Abs(1 + complex(bank.AirGain, 0)*(1-lowPass(hertz, bank.AirHertz)))
	return h * h
}

const endFade = Rate / 4

func newStage(p plan, o Options) *stage {
	st := &stage{
		low:    float32(onePole(shelfHertz)),
		airy:   float32(onePole(bank.AirHertz)),
		frames: p.frames,
	}
	if len(p.lifts) > 0 {
		st.strings = newStrings(p.lifts)
	}
	if o.Reverb > Off {
		st.reverb = newReverb(math.Pow(10, o.Reverb/20))
	}
	return st
}

// play turns the sums of the block at frame at into sound. The result is valid
// until the next call.
func (st *stage) play(at, frames int, s *sums) []float32 {
	out := st.out[:2*frames]
	l, r, k := st.lowL[0], st.lowR[0], st.low
	m, n := st.lowL[1], st.lowR[1]
	a, b, q, g := st.airL, st.airR, st.airy, float32(bank.AirGain)
	dark, straight := s.dark[:len(out)], s.straight[:len(out)]
	for i := 0; i+1 < len(out); i += 2 {
		l += k * (dark[i] - l)
		r += k * (dark[i+1] - r)
		m += k * (l - m)
		n += k * (r - n)
		x, y := straight[i]+m, straight[i+1]+n
		a += q * (x - a)
		b += q * (y - b)
		out[i] = x + g*(x-a)
		out[i+1] = y + g*(y-b)
	}
	st.lowL, st.lowR, st.airL, st.airR = [2]float32{l, m}, [2]float32{r, n}, a, b
	if st.strings != nil {
		st.strings.add(out, at)
	}
	if st.reverb != nil {
		st.reverb.add(out)
	}
	for f := max(at, st.frames-endFade); f < at+frames; f++ {
		g := float32(st.frames-f) / endFade
		out[2*(f-at)] *= g
		out[2*(f-at)+1] *= g
	}
	return out
}

// A metronome adds its strokes to what has been levelled: so they are as loud in every
// take, whatever is played.
type metronome struct {
	ticks  []tick
	sounds [2][]float32 // plain, accented
	at     int          // frame of the take
}

func newMetronome(ticks []tick, o Options) *metronome {
	gain := math.Pow(10, (o.Click+o.Loudness-loudnessOf)/20)
	return &metronome{ticks: ticks, sounds: [2][]float32{clickSound(false, gain), clickSound(true, gain)}}
}

// add takes the blocks of a take in order.
func (m *metronome) add(block []float32) {
	at, frames := m.at, len(block)/2
	m.at += frames
	for len(m.ticks) > 0 && m.ticks[0].start+tickFrames <= at {
		m.ticks = m.ticks[1:]
	}
	for _, t := range m.ticks {
		if t.start >= at+frames {
			break
		}
		sound := m.sounds[0]
		if t.accent {
			sound = m.sounds[1]
		}
		for f := max(t.start, at); f < min(t.start+tickFrames, at+frames); f++ {
			x := sound[f-t.start]
			block[2*(f-at)] += x
			block[2*(f-at)+1] += x
		}
	}
}

const tickFrames = Rate * 6 / 100

// clickSound makes one stroke of the metronome: two damped sines like a struck
// wooden block, the accent a fourth higher and louder. They lie off the
// keyboard's pitches, so that no key of a tune agrees with them.
func clickSound(accent bool, gain float64) []float32 {
	hertz, level := 1250.0, 0.55
	if accent {
		hertz, level = 1670, 0.75
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
