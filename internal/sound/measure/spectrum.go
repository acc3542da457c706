package measure

import (
	"math"
	"math/cmplx"
)

// FFT transforms a in place; its length must be a power of two. (Cooley and
// Tukey, radix 2; O(n log n). Nothing here is large enough to want more.)
func FFT(a []complex128) {
	n := len(a)
	if n&(n-1) != 0 {
		panic("measure: FFT length is not a power of two")
	}
	for i, j := 1, 0; i < n; i++ {
		bit := n >> 1
		for ; j&bit != 0; bit >>= 1 {
			j ^= bit
		}
		j ^= bit
		if i < j {
			a[i], a[j] = a[j], a[i]
		}
	}
	turn := make([]complex128, n/2)
	for i := range turn {
		turn[i] = cmplx.Rect(1, -2*math.Pi*float64(i)/float64(n))
	}
	for l := 2; l <= n; l <<= 1 {
		for i := 0; i < n; i += l {
			for k := 0; k < l/2; k++ {
				u, v := a[i+k], a[i+k+l/2]*turn[k*(n/l)]
				a[i+k], a[i+k+l/2] = u+v, u-v
			}
		}
	}
}

// Mono averages the channels of interleaved stereo frames.
func Mono(frames []float32) []float64 {
	out := make([]float64, len(frames)/2)
	for i := range out {
		out[i] = (float64(frames[2*i]) + float64(frames[2*i+1])) / 2
	}
	return out
}

// A Spectrum is the magnitude of one Hann-windowed stretch of sound.
type Spectrum struct {
	Bin float64   // hertz between neighbours
	Mag []float64 // magnitude at 0, Bin, 2 Bin …
}

// SpectrumOf transforms all of mono, zero padded to twice the next power of
// two so that peaks can be interpolated.
func SpectrumOf(mono []float64) Spectrum {
	size := 1
	for size < len(mono) {
		size *= 2
	}
	a := make([]complex128, 2*size)
	for i, x := range mono {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(mono)))
		a[i] = complex(x*w, 0)
	}
	FFT(a)
	s := Spectrum{Bin: Rate / float64(2*size), Mag: make([]float64, size)}
	for i := range s.Mag {
		s.Mag[i] = cmplx.Abs(a[i])
	}
	return s
}

// Peak returns the frequency in hertz of the strongest component within the
// given number of cents of hz, by a parabola through the logarithms of three
// bins. It returns 0 when there is nothing.
func (s Spectrum) Peak(hz, cents float64) float64 {
	lo := max(int(hz*math.Exp2(-cents/1200)/s.Bin), 1)
	hi := min(int(hz*math.Exp2(cents/1200)/s.Bin)+1, len(s.Mag)-2)
	best := lo
	for k := lo; k <= hi; k++ {
		if s.Mag[k] > s.Mag[best] {
			best = k
		}
	}
	if best >= len(s.Mag)-1 || s.Mag[best-1] == 0 || s.Mag[best] == 0 || s.Mag[best+1] == 0 {
		return 0
	}
	l, c, r := math.Log(s.Mag[best-1]), math.Log(s.Mag[best]), math.Log(s.Mag[best+1])
	return (float64(best) + 0.5*(l-r)/(l-2*c+r)) * s.Bin
}

// Cents is the interval from the frequency a to the frequency b.
func Cents(a, b float64) float64 { return 1200 * math.Log2(b/a) }

// Hertz is the equal-tempered frequency of a MIDI key, A4 = key 69 = 440 Hz.
func Hertz(key int) float64 { return 440 * math.Exp2(float64(key-69)/12) }

// Bands returns the long-term power, in decibels, in octave bands around the
// given centre frequencies: the mean over half-overlapping windows of 8192
// frames. Only differences between such results mean anything.
func Bands(mono []float64, centres []float64) []float64 {
	const size = 8192
	power := make([]float64, len(centres))
	a := make([]complex128, size)
	windows := 0
	for at := 0; at+size <= len(mono); at += size / 2 {
		for i := range a {
			w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/size)
			a[i] = complex(mono[at+i]*w, 0)
		}
		FFT(a)
		for b, c := range centres {
			lo, hi := int(c/math.Sqrt2*size/Rate), int(c*math.Sqrt2*size/Rate)
			for k := lo; k < hi && k < size/2; k++ {
				m := cmplx.Abs(a[k])
				power[b] += m * m
			}
		}
		windows++
	}
	for b := range power {
		power[b] = 10 * math.Log10(power[b]/float64(max(windows, 1))+1e-30)
	}
	return power
}
