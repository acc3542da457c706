package layer3_test

import (
	"fmt"
	"io"
	"math"
	"testing"

	"gradatim/internal/sound/codec/layer3"
)

// chords is a rolling figure of struck tones, left and right not alike.
func chords(seconds int) []float32 {
	x := make([]float32, 2*layer3.Rate*seconds)
	for note := range 6 * seconds {
		at := note * layer3.Rate / 6
		hz := 110 * math.Exp2(float64([]int{0, 7, 12, 16, 19, 24, 28, 31}[note*5%8])/12)
		for i := range min(2*layer3.Rate, len(x)/2-at) {
			s := float64(i) / layer3.Rate
			v := 0.0
			for h := 1.0; h <= 6 && hz*h < 9000; h++ {
				v += math.Sin(2*math.Pi*hz*h*s) / (h * h) * math.Exp(-s*(1.5+h))
			}
			v *= 0.12 * min(1, s/0.004)
			x[2*(at+i)] += float32(v * (0.7 + 0.3*float64(note%2)))
			x[2*(at+i)+1] += float32(v * (1 - 0.3*float64(note%2)))
		}
	}
	return x
}

func BenchmarkEncoder(b *testing.B) {
	for _, kbps := range []int{128, 192, 320} {
		var x []float32
		for figure := chords(5); len(x) < 2*60*layer3.Rate; {
			x = append(x, figure...)
		}
		b.Run(fmt.Sprintf("seconds=60/kbps=%d", kbps), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				e, err := layer3.New(io.Discard, kbps)
				if err == nil {
					err = e.Write(x)
				}
				if err == nil {
					err = e.Close()
				}
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
