package bank

import "math"

// All notes are played through one shelf. The recordings are darker than other sampled
// grands: against FluidR3_GM, itself bright, they lack 12 to 13 dB at 4 kHz and 25 dB at
// 8 kHz (both channels, the two pages of TestSpectrumAgainstFluidR3). About half of what
// lacks at 4 kHz is given back; more would raise hiss and hammer noise with it. No ear has
// judged it.
const (
	AirHertz = 3500 // corner
	AirDB    = 8    // far above it
)

// AirGain is what the shelf adds, as a factor of what lies above its corner.
var AirGain = math.Pow(10, AirDB/20.0) - 1

// Air plays interleaved stereo frames, so many a second, through the shelf, in place.
func Air(frames []float32, rate int) {
	k := 1 - math.Exp(-2*math.Pi*AirHertz/float64(rate))
	var low [2]float64
	for i, x := range frames {
		l := &low[i%2]
		*l += k * (float64(x) - *l)
		frames[i] = float32(float64(x) + AirGain*(float64(x)-*l))
	}
}
