package sound

import (
	"math"
	"sync"

	"gradatim/internal/sound/bank"
)

// Brightness: the harder a key is struck the brighter it sounds, without a step anywhere.
//
// Problem: four strengths of touch were recorded; inside each layer nothing changes, and
// from one to the next the share of power above 2 kHz jumps by 3 to 8 dB. Objective: at
// every velocity that share lies on one line through the layers, on every key. Method: the
// bank knows each recording's power in narrow bands; the shelf that all voices share (see
// voice.setGain) has a known response; so the tilt that brings a recording to the wanted
// share is found by halving an interval, and the loudness that it adds is taken off again.
// Cost: twenty steps over thirty bands for each key and velocity that occurs. Rejected: a tilt
// as large as what is missing, which is what a first-order shelf does not deliver; blended
// layers, whose phases cancel.
type spectrum struct {
	power [len(bank.Edges) + 1]float64
}

// The most that a tilt darkens and brightens, in dB.
const (
	darkest   = -18.0
	brightest = 14.0
)

func spectrumOf(s bank.Sample) spectrum {
	var p spectrum
	of := filters()
	for i, b := range s.Bands {
		p.power[i] = math.Pow(10, float64(b)/1000) * of[i].air
	}
	return p
}

// A bandFilter is how the filters act in the middle of a band, which each key and velocity
// asks for some six hundred times.
type bandFilter struct {
	air float64
	low complex128 // both stages of the low-pass filter
}

var filters = sync.OnceValue(func() *[len(bank.Edges) + 1]bandFilter {
	var out [len(bank.Edges) + 1]bandFilter
	for i := range out {
		low := lowPass(bandHertz(i), shelfHertz)
		out[i] = bandFilter{air(bandHertz(i)), low * low}
	}
	return &out
})

// bandHertz is a frequency in the middle of a band.
func bandHertz(i int) float64 {
	switch i {
	case 0:
		return bank.Edges[0] / 2
	case len(bank.Edges):
		return bank.Edges[i-1] * math.Sqrt2
	}
	return math.Sqrt(bank.Edges[i-1] * bank.Edges[i])
}

// edge is the first band that counts as bright on a key: from 2 kHz, or from above the
// second partial where that is higher.
func edge(key int) int {
	hertz := max(2000, 1.6*440*math.Exp2(float64(key-69)/12))
	for i, e := range bank.Edges {
		if e >= hertz {
			return i + 1
		}
	}
	return len(bank.Edges)
}

// response is the power response of a shelf whose upper part is raised by a factor.
func (b bandFilter) response(high float64) float64 {
	re, im := high+(1-high)*real(b.low), (1-high)*imag(b.low)
	return re*re + im*im
}

// share is the part above an edge, in dB, under a tilt.
func (p spectrum) share(edge int, tilt float64) float64 {
	var bright, all float64
	of, high := filters(), math.Pow(10, tilt/20)
	for i, x := range p.power {
		x *= of[i].response(high)
		if i >= edge {
			bright += x
		}
		all += x
	}
	return 10 * math.Log10(bright/all+1e-12)
}

// louder is what a tilt adds to the loudness of the recording, in dB.
func (p spectrum) louder(tilt float64) float64 {
	var before, after float64
	of, high := filters(), math.Pow(10, tilt/20)
	for i, x := range p.power {
		before += x / of[i].air
		after += x * of[i].response(high)
	}
	return 10 * math.Log10(after/before)
}

// brightness spreads the share of a layer's recordings over all keys, as far as a tilt can
// bring the recording that a key has there.
func brightness(samples []bank.Sample) [128]float64 {
	out := smooth(samples, func(s bank.Sample, key int) float64 { return spectrumOf(s).share(edge(key), 0) })
	for key := range out {
		p, e := spectrumOf(nearest(samples, key)), edge(key)
		out[key] = min(max(out[key], p.share(e, darkest/2)), p.share(e, brightest/2))
	}
	return out
}

// tiltFor returns the tilt that brings a recording to a share on a key, and by how many
// decibels it is louder then.
func tiltFor(s bank.Sample, key int, want float64) (tilt, louder float64) {
	p := spectrumOf(s)
	e := edge(key)
	lo, hi := darkest, brightest
	for range 20 {
		mid := (lo + hi) / 2
		if p.share(e, mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	tilt = (lo + hi) / 2
	return tilt, p.louder(tilt)
}
