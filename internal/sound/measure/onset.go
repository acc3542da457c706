package measure

import (
	"math"
	"math/cmplx"
	"slices"
)

// Onsets returns when notes start, in seconds.
//
// Method: spectral flux (Bello et al., "A tutorial on onset detection in music
// signals", IEEE Transactions on Speech and Audio Processing 13(5), 2005): the
// growth of the logarithmic spectrum over windows of 21 ms, every 1.3 ms; its
// peaks above a running median are onsets, each dated by the middle of the two
// windows compared. A band grows where it is louder than at any time in the 32 ms
// before: two strings or notes that beat let a band fall silent for a moment, and its
// return is no onset (a maximum filter, as Böck and Widmer have over frequency, DAFx
// 2013; from memory). Cost: one transform of 1024 points per 1.3 ms.
func Onsets(mono []float64) []float64 {
	const (
		size = 1024
		hop  = 64
		skip = 8  // frames of hop between the spectra compared
		back = 24 // frames before the first of them that are looked at, too
	)
	frames := (len(mono) - size) / hop
	if frames <= skip {
		return nil
	}
	var window [size]float64
	for i := range window {
		window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/size)
	}
	// Thirds of an octave: enough to tell a new note under a loud old one.
	edges := []int{2}
	for e := 2.0; e < size/4; e *= math.Exp2(1.0 / 3) {
		if k := int(math.Ceil(e * math.Exp2(1.0/3))); k > edges[len(edges)-1] {
			edges = append(edges, k)
		}
	}
	bands := len(edges) - 1
	level := make([]float64, frames*bands)
	a := make([]complex128, size)
	for f := range frames {
		for i := range a {
			a[i] = complex(mono[f*hop+i]*window[i], 0)
		}
		FFT(a)
		for b := range bands {
			p := 0.0
			for k := edges[b]; k < edges[b+1]; k++ {
				m := cmplx.Abs(a[k])
				p += m * m
			}
			level[f*bands+b] = p
		}
	}
	// What is 50 dB under the loudest band, or 40 dB under the loudest of its time, is
	// not heard as a new note.
	floor := slices.Max(level) * 1e-5
	for f := range frames {
		row := level[f*bands : (f+1)*bands]
		under := floor + slices.Max(row)*1e-4
		for b, p := range row {
			row[b] = math.Log10(p + under)
		}
	}
	flux := make([]float64, frames)
	for f := skip; f < frames; f++ {
		for b := range bands {
			before := level[(f-skip)*bands+b]
			for g := max(f-skip-back, 0); g < f-skip; g++ {
				before = max(before, level[g*bands+b])
			}
			flux[f] += max(level[f*bands+b]-before, 0)
		}
		flux[f] /= float64(bands)
	}
	var out []float64
	const reach = 18 // frames: nothing else within 24 ms
	for f := skip; f < frames; f++ {
		lo, hi := max(f-reach, 0), min(f+reach+1, frames)
		if flux[f] < slices.Max(flux[lo:hi]) {
			continue
		}
		around := slices.Clone(flux[max(f-100, 0):min(f+100, frames)])
		slices.Sort(around)
		if flux[f] < 0.08+1.8*around[len(around)/2] {
			continue
		}
		at := float64(f*hop+size/2-skip*hop/2) / Rate
		if n := len(out); n == 0 || at-out[n-1] > 0.024 {
			out = append(out, at)
		}
	}
	return out
}
