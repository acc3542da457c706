package measure_test

import (
	"fmt"
	"math"
	"testing"

	"gradatim/internal/sound/measure"
)

// sine is seconds of a stereo sine with the given peak levels in dBFS.
func sine(hz, seconds, left, right float64) []float32 {
	out := make([]float32, 2*int(seconds*measure.Rate))
	l, r := math.Pow(10, left/20), math.Pow(10, right/20)
	for i := 0; i < len(out); i += 2 {
		x := math.Sin(2 * math.Pi * hz * float64(i/2) / measure.Rate)
		out[i], out[i+1] = float32(l*x), float32(r*x)
	}
	return out
}

func ExampleHertz() {
	fmt.Println(measure.Hertz(69), measure.Hertz(57))
	// Output: 440 220
}

// ITU-R BS.1770-4, annex 1: a 997 Hz sine at 0 dBFS in one front channel reads
// -3.01 LKFS. EBU Tech 3341, table 1, cases 1 to 5: what a meter has to show.
func TestLoudness(t *testing.T) {
	silent := math.Inf(-1)
	type part struct{ seconds, left, right float64 }
	for _, tt := range []struct {
		name  string
		hz    float64
		parts []part
		want  float64
	}{
		{"BS.1770, one channel", 997, []part{{5, 0, silent}}, -3.01},
		{"EBU 3341, case 1", 1000, []part{{20, -23, -23}}, -23},
		{"EBU 3341, case 2", 1000, []part{{20, -33, -33}}, -33},
		{"EBU 3341, case 3", 1000, []part{{10, -36, -36}, {60, -23, -23}, {10, -36, -36}}, -23},
		{"EBU 3341, case 4", 1000, []part{{10, -72, -72}, {10, -36, -36}, {60, -23, -23}, {10, -36, -36}, {10, -72, -72}}, -23},
		{"EBU 3341, case 5", 1000, []part{{20, -26, -26}, {20.1, -20, -20}, {20, -26, -26}}, -23},
	} {
		var l measure.Loudness
		for _, p := range tt.parts {
			frames := sine(tt.hz, p.seconds, p.left, p.right)
			l.Add(frames[:2000]) // pieces of any length
			l.Add(frames[2000:])
		}
		if got := l.Integrated(); math.Abs(got-tt.want) > 0.1 {
			t.Errorf("%s: %.2f, want %.2f ± 0.1", tt.name, got, tt.want)
		}
	}
	var l measure.Loudness
	if got := l.Integrated(); !math.IsInf(got, -1) {
		t.Errorf("nothing reads %v", got)
	}
	l.Add(make([]float32, 2*measure.Rate))
	if got := l.Integrated(); !math.IsInf(got, -1) {
		t.Errorf("silence reads %v", got)
	}
	var short measure.Loudness
	short.Add(sine(1000, 0.2, -20, -20))
	if got := short.Integrated(); got > -20 || got < -26 {
		t.Errorf("0.2 s at -20 reads %.1f", got)
	}
}

func TestPeak(t *testing.T) {
	for _, hz := range []float64{27.5, 220, 440, 441, 3000.7} {
		s := measure.SpectrumOf(measure.Mono(sine(hz, 1.2, -6, -6)))
		if got := s.Peak(hz*math.Exp2(20.0/1200), 60); math.Abs(measure.Cents(hz, got)) > 0.5 {
			t.Errorf("%g Hz reads %.3f, %.2f cents off", hz, got, measure.Cents(hz, got))
		}
	}
	none := measure.SpectrumOf(make([]float64, 1000))
	if got := none.Peak(440, 50); got != 0 {
		t.Errorf("silence has a pitch of %g Hz", got)
	}
}

// FFT against the definition of the transform.
func TestFFT(t *testing.T) {
	const n = 64
	var x, want [n]complex128
	for i := range x {
		x[i] = complex(math.Sin(float64(i*i)), math.Cos(float64(3*i)))
	}
	for k := range want {
		for i, v := range x {
			a := -2 * math.Pi * float64(k*i) / n
			want[k] += v * complex(math.Cos(a), math.Sin(a))
		}
	}
	got := x
	measure.FFT(got[:])
	for k := range got {
		if d := got[k] - want[k]; math.Hypot(real(d), imag(d)) > 1e-9 {
			t.Fatalf("bin %d: %v, want %v", k, got[k], want[k])
		}
	}
}

// Plucked tones at known times are found within a few milliseconds, one under
// the other, and nothing else is.
func TestOnsets(t *testing.T) {
	want := []float64{0.2, 0.5, 0.62, 1.1, 1.9}
	mono := make([]float64, 3*measure.Rate)
	for n, at := range want {
		hz := 220 * math.Exp2(float64(n)*5/12)
		for i := int(at * measure.Rate); i < len(mono); i++ {
			s := float64(i)/measure.Rate - at
			for h := 1.0; h <= 6; h++ {
				mono[i] += 0.1 / h * math.Sin(2*math.Pi*hz*h*s) * math.Exp(-s*(1+h)) * (1 - math.Exp(-s/0.002))
			}
		}
	}
	got := measure.Onsets(mono)
	if len(got) != len(want) {
		t.Fatalf("found %.3f, want %.3f", got, want)
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 0.008 {
			t.Errorf("found %.4f, want %.4f", got[i], want[i])
		}
	}
	if got := measure.Onsets(make([]float64, 100)); got != nil {
		t.Errorf("too little sound has onsets: %v", got)
	}
}

// TestOnsetsBeating: two partials that beat against each other are struck once.
func TestOnsetsBeating(t *testing.T) {
	mono := make([]float64, 2*measure.Rate)
	for i := measure.Rate / 5; i < len(mono); i++ {
		s := float64(i)/measure.Rate - 0.2
		for _, hz := range []float64{220, 330, 338, 440, 1100, 1320} {
			mono[i] += 0.1 * math.Sin(2*math.Pi*hz*s) * math.Exp(-s) * (1 - math.Exp(-s/0.002))
		}
	}
	if got := measure.Onsets(mono); len(got) != 1 || math.Abs(got[0]-0.2) > 0.008 {
		t.Errorf("found %.3f", got)
	}
}

func TestBands(t *testing.T) {
	b := measure.Bands(measure.Mono(sine(1000, 1, -6, -6)), []float64{250, 1000, 4000})
	if b[1]-b[0] < 40 || b[1]-b[2] < 40 {
		t.Errorf("a tone of 1 kHz: %.0f dB around 250, 1000 and 4000 Hz", b)
	}
}

func BenchmarkLoudness(b *testing.B) {
	frames := sine(440, 10, -20, -20)
	b.Run("seconds=10", func(b *testing.B) {
		for b.Loop() {
			var l measure.Loudness
			l.Add(frames)
		}
	})
}
