package studio_test

import (
	"math"

	"gradatim/internal/perform"
	"gradatim/internal/sound/measure"
)

// struckWith compares notes of the tune with what is struck with them, in percent of them:
// softer than one note, softer than all together.
func struckWith(p perform.Performance) (softer, below float64) {
	n := 0
	for _, k := range p.Notes {
		if !k.Melody || k.Shared {
			continue
		}
		n++
		sum, top := 0.0, 0
		for _, o := range p.Notes {
			if !o.Melody && !o.Shared && o.At == k.At && math.Abs(o.Start-k.Start) < 0.15 {
				sum += math.Pow(float64(o.Velocity), 4)
				top = max(top, o.Velocity)
			}
		}
		if top > k.Velocity {
			softer++
		}
		if sum > math.Pow(float64(k.Velocity), 4) {
			below++
		}
	}
	return 100 * softer / float64(max(n, 1)), 100 * below / float64(max(n, 1))
}

// lead is by how many milliseconds the tune comes before what is struck with it.
func lead(p perform.Performance) float64 {
	sum, n := 0.0, 0.0
	for _, k := range p.Notes {
		if !k.Melody || k.Shared {
			continue
		}
		for _, o := range p.Notes {
			if !o.Melody && !o.Shared && o.At == k.At && o.Pass == k.Pass && math.Abs(o.Start-k.Start) < 0.06 {
				sum += o.Start - k.Start
				n++
			}
		}
	}
	return 1000 * sum / max(n, 1)
}

// drift is the standard deviation of the ratio of neighbouring beats, in percent, the last
// four bars left out.
func drift(p perform.Performance) float64 {
	var at []float64
	var pos []float64
	for _, q := range p.Timing.Points {
		if q.Beat {
			at, pos = append(at, q.Seconds), append(pos, float64(q.At))
		}
	}
	var ratios []float64
	for i := 2; i < len(at)-16; i++ {
		a, b := (at[i-1]-at[i-2])/(pos[i-1]-pos[i-2]), (at[i]-at[i-1])/(pos[i]-pos[i-1])
		if r := b/a - 1; math.Abs(r) < 0.05 { // no breath
			ratios = append(ratios, r)
		}
	}
	sum, square := 0.0, 0.0
	for _, r := range ratios {
		sum, square = sum+r, square+r*r
	}
	n := float64(max(len(ratios), 1))
	return 100 * math.Sqrt(max(square/n-sum/n*sum/n, 0))
}

// A taken stretch: the powers of its channels, their sum and the mean of both.
type taken struct{ left, right, both float64 }

func take(x []float32, from, seconds float64) (p taken) {
	i := min(2*int(from*measure.Rate), len(x))
	j := min(2*int((from+seconds)*measure.Rate), len(x))
	for ; i+1 < j; i += 2 {
		l, r := float64(x[i]), float64(x[i+1])
		p.left += l * l
		p.right += r * r
		p.both += (l + r) * (l + r) / 4
	}
	n := seconds * measure.Rate
	return taken{p.left/n + 1e-20, p.right/n + 1e-20, p.both/n + 1e-20}
}

func (p taken) stereo() float64 { return 10 * math.Log10((p.left+p.right)/2) }
func (p taken) mono() float64   { return 10 * math.Log10(p.both) }
func (p taken) image() float64  { return 10 * math.Log10(p.left/p.right) }
func (p taken) fold() float64   { return p.mono() - p.stereo() }

// brightness is the power above 2 kHz in that of the whole, in dB, of both channels.
func brightness(x []float32, from, seconds float64) float64 {
	i, j := 2*int(from*measure.Rate), 2*int((from+seconds)*measure.Rate)
	var high, all float64
	for c := range 2 {
		var mono []float64
		for k := i + c; k < min(j, len(x)); k += 2 {
			mono = append(mono, float64(x[k]))
		}
		s := measure.SpectrumOf(mono)
		for b, m := range s.Mag {
			if float64(b)*s.Bin > 2000 {
				high += m * m
			}
			all += m * m
		}
	}
	return 10 * math.Log10(high/all+1e-20)
}

func under30(x []float32) float64 {
	s := measure.SpectrumOf(measure.Mono(x[:min(len(x), 2*40*measure.Rate)]))
	var low, all float64
	for b, m := range s.Mag {
		if float64(b)*s.Bin < 30 {
			low += m * m
		}
		all += m * m
	}
	return 10 * math.Log10(low/all+1e-20)
}

// octaves are the shares of the octaves of one sound against another, in dB.
func octaves(x, y []float32) []float64 {
	share := func(z []float32) []float64 {
		b := measure.Bands(measure.Mono(z), []float64{125, 250, 500, 1000, 2000, 4000, 8000})
		total := 0.0
		for _, v := range b {
			total += math.Pow(10, v/10)
		}
		for i := range b {
			b[i] -= 10 * math.Log10(total)
		}
		return b
	}
	a, b := share(x), share(y)
	for i := range a {
		a[i] -= b[i]
	}
	return a
}

func loud(x []float32) float64 {
	var l measure.Loudness
	l.Add(x)
	return l.Integrated()
}
