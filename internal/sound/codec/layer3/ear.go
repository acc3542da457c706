package layer3

import (
	"math"
	"sync"
)

// The ear: what noise a sound hides in each band.
//
// Source: the excitation that a sound leaves spreads to higher and lower pitches; noise is hidden while it
// stays some way below it. Slopes, scale of pitch and distance are those of
// ITU-R BS.1387-1 (annex 2, 2.1.5 to 2.1.7): 27 dB a Bark downwards,
// 24 + 230/f − 0.2 L upwards, noise 3 dB below the excitation up to 12 Bark and a
// quarter of a dB for each Bark above; the threshold in quiet is its formula too. Taken
// simpler: partitions are scale factor bands, excitations are added as powers, and
// the level L is that of common playing, so that the slopes are one table.
const playing = 60 // dB

// fullScale is the level of a tone at full scale (about 92 dB SPL there; common practice, no source, for who
// listens sets the volume).
const fullScale = 92

type ears struct {
	long  hearing
	short hearing
}

type hearing struct {
	n     int
	width [22]float32     // lines of each band
	hides [22][22]float32 // noise hidden in band i by power in band j
	quiet [22]float32     // noise that nobody hears in silence
}

var hearings = sync.OnceValue(func() *ears {
	e := new(ears)
	e.long.fill(func(b int) (int, int) { return int(longBands[b]), int(longBands[b+1]) }, 22, granule)
	e.short.fill(func(b int) (int, int) { return shortBands[b], shortBands[b+1] }, 13, granule/3)
	return e
})

func (h *hearing) fill(band func(int) (int, int), n, lines int) {
	h.n = n
	bark := func(hz float64) float64 { return float64(7 * math.Asinh(hz/650)) }
	var z, f [22]float64
	for b := range n {
		from, to := band(b)
		h.width[b] = float32(to - from)
		f[b] = float64(float64(from+to) * (Rate / 4) / float64(lines))
		z[b] = bark(f[b])
	}
	for i := range n {
		offset := 3.0
		if z[i] > 12 {
			offset = float64(0.25 * z[i])
		}
		for j := range n {
			slope := 27.0
			if z[i] > z[j] {
				slope = 24 + 230/f[j] - float64(0.2*playing)
			}
			db := float64(-slope*math.Abs(z[i]-z[j])) - offset
			h.hides[i][j] = float32(math.Pow(10, db/10))
		}
		k := f[i] / 1000
		db := float64(3.64*math.Pow(k, -0.8)) - float64(6.5*math.Exp(float64(-0.6*float64((k-3.3)*(k-3.3))))) + float64(0.001*float64(k*float64(k*float64(k*k))))
		// A tone at full scale has about the power 1 in a long block. (Measured.)
		h.quiet[i] = float32(math.Pow(10, (min(db, 90)-fullScale)/10) * float64(lines) / granule)
	}
}

// hide fills in the noise that powers hide.
func (h *hearing) hide(power, hidden *[22]float32) {
	for i := range h.n {
		sum := h.quiet[i]
		row := &h.hides[i]
		for j, p := range power[:h.n] {
			sum += float32(row[j] * p)
		}
		hidden[i] = sum
	}
}

// log2 is the logarithm to base 2 within 0.008, for x > 0: exponent and a parabola.
func log2(x float32) float32 {
	b := math.Float32bits(x)
	m := math.Float32frombits(b&(1<<23-1) | 127<<23)
	return float32(int32(b>>23)-127) + (float32((2-float32(m*(1.0/3)))*m) - 5.0/3 + 0.0022)
}

// exp2 is 2^x within one in a hundred, for x between -126 and 127: the inverse of log2's parabola
// would cost a root, this one costs a product more.
func exp2(x float32) float32 {
	x = min(max(x, -100), 100)
	whole := int32(x+128) - 128 // rounds down
	f := x - float32(whole)
	m := 1 + float32(f*(0.6565+float32(f*0.3435)))
	return float32(m * math.Float32frombits(uint32(whole+127)<<23))
}
