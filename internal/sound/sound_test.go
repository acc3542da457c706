package sound_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"gradatim/assets"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sound"
	"gradatim/internal/sound/codec"
	"gradatim/internal/sound/event"
	"gradatim/internal/sound/measure"
)

var open = sync.OnceValues(func() (*sound.Instrument, error) {
	f, err := assets.Piano()
	if err != nil {
		return nil, err
	}
	return sound.NewInstrument(f)
})

// piano returns the instrument, or skips where it was not built.
func piano(t testing.TB) *sound.Instrument {
	t.Helper()
	in, err := open()
	if err != nil && os.Getenv("CI") == "true" {
		t.Fatal(err)
	} else if err != nil {
		t.Skip(err)
	}
	return in
}

// listen plays and returns all frames.
func listen(t testing.TB, seq event.Sequence, o sound.Options) ([]float32, sound.Report) {
	t.Helper()
	return listenTo(t, piano(t), seq, o)
}

func listenTo(t testing.TB, in *sound.Instrument, seq event.Sequence, o sound.Options) ([]float32, sound.Report) {
	t.Helper()
	var out []float32
	rep, err := in.Play(context.Background(), seq, o, func(frames int) (func([]float32) error, error) {
		out = make([]float32, 0, 2*frames)
		return func(b []float32) error { out = append(out, b...); return nil }, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != 2*rep.Frames {
		t.Fatalf("%d frames, %d reported", len(out)/2, rep.Frames)
	}
	return out, rep
}

// dry has no room, no keys coming up.
var dry = sound.Options{Reverb: sound.Off, Release: sound.Off}

func notes(ns ...event.Note) event.Sequence { return event.Sequence{Notes: ns} }

// dense is a repeatable piece with full chords, sixteenths and pedal.
func dense(seconds float64) event.Sequence {
	var s event.Sequence
	chords := [][]int{{2, 6, 9}, {11, 2, 6}, {7, 11, 2}, {9, 1, 4}, {6, 9, 1}, {4, 7, 11}, {7, 11, 2}, {9, 1, 7}}
	t, random := 0.0, uint32(1)
	for bar := 0; t < seconds; bar++ {
		q := 60 / (96 + 12*math.Sin(float64(bar)/5))
		c := chords[bar%len(chords)]
		dyn := 70 + 30*math.Sin(float64(bar)/3)
		add := func(at, dur float64, key int, v float64) {
			s.Notes = append(s.Notes, event.Note{Start: at, Dur: dur, Key: key, Velocity: int(min(v, 127))})
		}
		for half := range 2 {
			at := t + float64(half)*2*q
			s.Pedals = append(s.Pedals, event.Pedal{Time: at + 0.04, Value: 127}, event.Pedal{Time: at + 2*q - 0.015})
		}
		for i := range 16 {
			at := t + float64(i)*q/4
			random = random*1664525 + 1013904223
			v := dyn + float64(random>>24%12) - 6
			if i%4 == 0 {
				v += 10
			}
			add(at, q/4, 38+(c[i%3]+10)%12+12*(i/3%2), v-8)
			add(at, q/4-0.01, 62+(c[(i*2+bar)%3]+10)%12+12*(i/4%2), v)
			if i%8 == 0 {
				add(at, 2*q-0.02, 26+(c[0]+10)%12, v)
			}
			if i%4 == 0 {
				for _, k := range c {
					add(at, q-0.02, 74+(k+10)%12, v+4)
				}
			}
		}
		t += 4 * q
	}
	return s
}

func rms(frames []float32) float64 {
	sum := 0.0
	for _, x := range frames {
		sum += float64(x) * float64(x)
	}
	return 10 * math.Log10(sum/float64(len(frames))+1e-20)
}

func cut(frames []float32, from, to float64) []float32 {
	return frames[2*int(from*sound.Rate) : 2*int(to*sound.Rate)]
}

func ExampleInstrument_Record() {
	file, err := assets.Piano()
	if err != nil {
		fmt.Println("length 2.2 s") // the piano was not built in
		return
	}
	in, err := sound.NewInstrument(file)
	if err != nil {
		fmt.Println(err)
		return
	}
	chord := event.Sequence{Notes: []event.Note{
		{Start: 0, Dur: 0.5, Key: 60, Velocity: 70},
		{Start: 0, Dur: 0.5, Key: 64, Velocity: 70},
		{Start: 0, Dur: 0.5, Key: 67, Velocity: 80},
	}}
	var mp3 bytes.Buffer
	rep, err := in.Record(context.Background(), &mp3, chord, sound.Options{Tags: codec.Tags{Title: "A chord", Credits: sound.Credit}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("length %.1f s\n", rep.Seconds)
	// Output: length 2.2 s
}

func TestSameSoundOnAnyNumberOfProcessors(t *testing.T) {
	seq := dense(6 / float64(sharedtest.Every(6, 3)))
	seq.Ticks = []event.Tick{{Time: 0, Accent: true}, {Time: 1}}
	want, rep := listen(t, seq, sound.Options{})
	for _, procs := range []int{2, 3, 7} {
		got, r := listen(t, seq, sound.Options{Procs: procs})
		if !slices.Equal(got, want) || r != rep {
			t.Errorf("%d processors sound different", procs)
		}
	}
	// Neither does it matter how much is kept, nor what was played before.
	small := sound.NewSmallInstrument(piano(t), 3)
	var got []float32
	for range 2 {
		got = got[:0]
		if _, err := small.Play(context.Background(), seq, sound.Options{Procs: 2}, func(int) (func([]float32) error, error) {
			return func(b []float32) error { got = append(got, b...); return nil }, nil
		}); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got, want) {
			t.Error("an instrument that keeps three pages sounds different")
		}
	}
	if kept, pinned := small.Pages(); kept > 3+4 || pinned != 0 {
		t.Errorf("it keeps %d pages, %d of them in use", kept, pinned)
	}
}

// Several recordings share one instrument at a time, even one with room for few
// pages, and none hears the others.
func TestRecordingsAtOnce(t *testing.T) {
	small := sound.NewSmallInstrument(piano(t), 12)
	takes := []event.Sequence{
		notes(event.Note{Dur: 0.7, Key: 60, Velocity: 70}, event.Note{Start: 0.3, Dur: 0.2, Key: 64, Velocity: 90}),
		notes(event.Note{Dur: 0.2, Key: 60, Velocity: 70}, event.Note{Start: 0.1, Dur: 0.9, Key: 67, Velocity: 50}),
		notes(event.Note{Dur: 0.4, Key: 36, Velocity: 100}, event.Note{Start: 0.2, Dur: 0.4, Key: 61, Velocity: 70}),
	}
	var wg sync.WaitGroup
	for _, seq := range takes {
		want, _ := listen(t, seq, sound.Options{})
		wg.Go(func() {
			for procs := 1; procs <= 2; procs++ {
				var got []float32
				_, err := small.Play(context.Background(), seq, sound.Options{Procs: procs}, func(int) (func([]float32) error, error) {
					return func(b []float32) error { got = append(got, b...); return nil }, nil
				})
				if err != nil || !slices.Equal(got, want) {
					t.Errorf("sounds different beside others (%v)", err)
				}
			}
		})
	}
	wg.Wait()
	if _, pinned := small.Pages(); pinned != 0 {
		t.Errorf("%d pages are still in use", pinned)
	}
}

// A take too long to be kept is mixed twice, to the same sound: what differs is
// the rounding of what is kept, 90 dB down.
func TestMixedOnceOrTwice(t *testing.T) {
	seq := dense(5)
	once, rep := listen(t, seq, sound.Options{})
	var twice []float32
	rep2, err := piano(t).PlayTwice(context.Background(), seq, sound.Options{}, func(int) (func([]float32) error, error) {
		return func(b []float32) error { twice = append(twice, b...); return nil }, nil
	})
	if err != nil || rep.Rendered != 1 || rep2.Rendered != 2 || len(once) != len(twice) || rep.Gain != rep2.Gain {
		t.Fatal(rep, rep2, err)
	}
	diff := make([]float32, len(once))
	for i := range diff {
		diff[i] = once[i] - twice[i]
	}
	if d := rms(diff) - rms(once); d > -85 {
		t.Errorf("the difference lies %.0f dB down", d)
	}
}

// Every key sounds at its pitch: equal temperament and the piano's own stretch,
// which grows from nothing at A4 to a fifth of a semitone at C7. Below middle C
// the median of four partials is the pitch: fundamentals of stiff strings lie
// low (C3's by 14 cents) and are not what is heard.
func TestKeysAreInTune(t *testing.T) {
	for key := 36; key <= 96; key += sharedtest.Every(5, 1) {
		frames, _ := listen(t, notes(event.Note{Dur: 1.5, Key: key, Velocity: 80}), dry)
		s := measure.SpectrumOf(measure.Mono(cut(frames, 0.1, 1.4)))
		hz := measure.Hertz(key)
		off := []float64{measure.Cents(hz, s.Peak(hz, 60))}
		if key < 60 {
			for h := 2.0; h <= 4; h++ {
				off = append(off, measure.Cents(h*hz, s.Peak(h*hz, 60)))
			}
		}
		slices.Sort(off)
		cents := (off[(len(off)-1)/2] + off[len(off)/2]) / 2
		if limit := 6 + max(0, float64(key-69))*0.8 + max(0, float64(48-key))*0.4; math.Abs(cents) > limit {
			t.Errorf("key %d is %+.1f cents off", key, cents)
		}
		if key == 69 && math.Abs(cents) > 3 {
			t.Errorf("A4 is %+.2f cents off", cents)
		}
	}
}

// Neighbouring keys and velocities differ little, and harder is louder and
// brighter, across changes of recording and of layer.
func TestStepsAreEven(t *testing.T) {
	level := func(key, velocity int) (loud, bright float64) {
		seq := notes(event.Note{Dur: 0.6, Key: key, Velocity: velocity}, event.Note{Start: 3, Dur: 0.6, Key: 60, Velocity: 100})
		frames, rep := listen(t, seq, dry)
		head := cut(frames, 0, 0.45)
		mono := measure.Mono(head)
		b := measure.Bands(mono, []float64{500, 4000})
		return rms(head) - rep.Gain, b[1] - b[0]
	}
	last := 0.0
	first, end := 36, 90
	if sharedtest.Every(4, 1) > 1 {
		first, end = 59, 68
	}
	for key := first; key <= end; key++ {
		now, _ := level(key, 72)
		if key > first && math.Abs(now-last) > 1.6 {
			t.Errorf("key %d: %.1f dB after its neighbour", key, now-last)
		}
		last = now
	}
	for _, key := range []int{69, 43, 60, 81}[:4/sharedtest.Every(4, 1)] {
		lastLoud, lastBright := 0.0, 0.0
		softest, hardest := 0.0, 0.0
		for v := 24; v <= 124; v += 4 {
			loud, bright := level(key, v)
			if v > 24 && (loud < lastLoud || loud > lastLoud+4) {
				t.Errorf("key %d, velocity %d: %.1f dB after the last", key, v, loud-lastLoud)
			}
			if v > 24 && bright < lastBright-1.5 {
				t.Errorf("key %d, velocity %d: %.1f dB darker than a softer touch", key, v, lastBright-bright)
			}
			if v == 24 {
				softest = bright
			}
			lastLoud, lastBright, hardest = loud, bright, bright
		}
		if hardest < softest+3 {
			t.Errorf("key %d: hard touch is %.1f dB brighter than soft", key, hardest-softest)
		}
	}
}

func TestDampersAndPedal(t *testing.T) {
	at := func(frames []float32, s float64) float64 { return rms(cut(frames, s, s+0.05)) }
	n := event.Note{Dur: 0.5, Key: 60, Velocity: 80}
	end := event.Note{Start: 3, Dur: 0.2, Key: 96, Velocity: 40}
	damped, _ := listen(t, notes(n, end), dry)
	if d := at(damped, 0.9) - at(damped, 0.44); d > -35 {
		t.Errorf("0.4 s after the key comes up it is %.0f dB lower", d)
	}
	held, _ := listen(t, event.Sequence{Notes: []event.Note{n, end}, Pedals: []event.Pedal{{Time: 0.2, Value: 127}, {Time: 1.5}}}, dry)
	if d := at(held, 0.9) - at(held, 0.44); d < -15 {
		t.Errorf("under the pedal it falls by %.0f dB", d)
	}
	if d := at(held, 1.9) - at(held, 1.4); d > -30 {
		t.Errorf("after the pedal it falls by %.0f dB", d)
	}
	// Controller 64: 64 and more is down, 63 is up.
	half, _ := listen(t, event.Sequence{Notes: []event.Note{n, end}, Pedals: []event.Pedal{{Time: 0.2, Value: 63}}}, dry)
	if !slices.Equal(half, damped) {
		t.Error("a pedal at 63 holds")
	}
	// The highest strings have no dampers.
	top, _ := listen(t, notes(event.Note{Dur: 0.1, Key: 96, Velocity: 80}, event.Note{Start: 2, Dur: 0.1, Key: 30, Velocity: 30}), dry)
	if d := at(top, 0.3) - at(top, 0.05); d < -25 {
		t.Errorf("an undamped key falls by %.0f dB", d)
	}
}

// A key struck again, even under the pedal, takes over without a click: the
// spectrum above 10 kHz, where a piano is silent, stays empty.
func TestStruckAgain(t *testing.T) {
	seq := event.Sequence{Pedals: []event.Pedal{{Time: 0, Value: 127}, {Time: 2}}}
	for i := range 12 {
		seq.Notes = append(seq.Notes, event.Note{Start: float64(i) * 0.15, Dur: 0.1, Key: 60, Velocity: 60})
	}
	frames, _ := listen(t, seq, dry)
	b := measure.Bands(measure.Mono(frames), []float64{250, 14000})
	if d := b[1] - b[0]; d > -65 {
		t.Errorf("14 kHz lies %.0f dB under 250 Hz", d)
	}
	// Struck twice at once is struck once, as hard as the harder.
	one, _ := listen(t, notes(event.Note{Dur: 1, Key: 60, Velocity: 90}), dry)
	two, _ := listen(t, notes(event.Note{Dur: 1, Key: 60, Velocity: 90}, event.Note{Start: 0.001, Dur: 1, Key: 60, Velocity: 50}), dry)
	if !slices.Equal(one, two) {
		t.Error("two hands on one key sound different from one")
	}
}

func TestRoomAndReleaseCanBeSet(t *testing.T) {
	seq := notes(event.Note{Dur: 0.3, Key: 60, Velocity: 80})
	tail := func(o sound.Options) float64 {
		frames, rep := listen(t, seq, o)
		return rms(cut(frames, 0.8, 1.1)) - rep.Gain
	}
	none := tail(dry)
	room := tail(sound.Options{Release: sound.Off})
	big := tail(sound.Options{Release: sound.Off, Reverb: -10})
	if room < none+6 || big < room+7 || big > room+13 {
		t.Errorf("after the note: %.0f dB dry, %.0f dB as set, %.0f dB with 10 dB more", none, room, big)
	}
	up := func(o sound.Options) float64 {
		frames, rep := listen(t, seq, o)
		return rms(cut(frames, 0.45, 0.6)) - rep.Gain
	}
	if a, b := up(dry), up(sound.Options{Reverb: sound.Off, Release: -10}); b < a+6 {
		t.Errorf("keys coming up: %.1f dB without, %.1f dB with", a, b)
	}
	bright := func(db float64) float64 {
		frames, _ := listen(t, seq, sound.Options{Bright: db})
		b := measure.Bands(measure.Mono(frames), []float64{250, 4000})
		return b[1] - b[0]
	}
	if d := bright(6) - bright(0); d < 3 || d > 8 {
		t.Errorf("6 dB brighter is %.1f dB", d)
	}
}

func TestMetronome(t *testing.T) {
	var seq event.Sequence
	for i := range 8 {
		seq.Ticks = append(seq.Ticks, event.Tick{Time: 0.2 + 0.4*float64(i), Accent: i%4 == 0})
	}
	frames, _ := listen(t, seq, sound.Options{Loudness: -36}) // no limiting
	on := measure.Onsets(measure.Mono(frames))
	if len(on) != 8 {
		t.Fatalf("%d ticks heard: %.3f", len(on), on)
	}
	for i, s := range on {
		if math.Abs(s-seq.Ticks[i].Time) > 0.008 {
			t.Errorf("tick %d heard at %.3f s, struck at %.3f s", i, s, seq.Ticks[i].Time)
		}
	}
	if a, b := rms(cut(frames, 0.2, 0.25)), rms(cut(frames, 0.6, 0.65)); a < b+2 {
		t.Errorf("accent %.1f dB, plain %.1f dB", a, b)
	}
}

func TestLimiter(t *testing.T) {
	quiet := make([]float32, 20000)
	for i := range quiet {
		quiet[i] = 0.4 * float32(math.Sin(float64(i)*0.01))
	}
	for _, piece := range []int{1, 100, 239, 240, 241, 5000, 20000} {
		out, deepest := sound.Limit(quiet, 0.5, piece)
		if !slices.Equal(out, quiet) || deepest != 0 {
			t.Errorf("in pieces of %d: what is under the ceiling is changed", piece)
		}
	}
	loud := slices.Clone(quiet)
	for _, i := range []int{0, 3000, 3100, 9000, 9001, 12000, 19998} {
		loud[i] = 1.7
	}
	for i := 14000; i < 15000; i++ {
		loud[i] *= 3
	}
	want, deepest := sound.Limit(loud, 0.5, 20000)
	if len(want) != len(loud) || math.Abs(deepest-20*math.Log10(0.5/1.7)) > 0.01 {
		t.Errorf("%d frames, limited by %.2f dB", len(want)/2, deepest)
	}
	for i, x := range want {
		if x > 0.5 || x < -0.5 {
			t.Fatalf("%g at %d", x, i)
		}
	}
	if got, _ := sound.Limit(loud, 0.5, 77); !slices.Equal(got, want) {
		t.Error("pieces matter")
	}
	// The gain moves slowly: between peaks the wave keeps its shape.
	for i := 5000; i < 8000; i += 2 {
		if a, b := want[i]/loud[i], want[i+2]/loud[i+2]; loud[i] > 0.05 && math.Abs(float64(a-b)) > 0.004 {
			t.Fatalf("gain jumps from %.3f to %.3f at %d", a, b, i)
		}
	}
}

// The room dies away evenly: 60 dB in about 1.3 s, high notes sooner, and never
// rings up.
func TestReverb(t *testing.T) {
	in := make([]float32, 2*3*sound.Rate)
	random := uint32(7)
	for i := range 2 * 4800 {
		random = random*1664525 + 1013904223
		in[i] = float32(random>>8)/(1<<23) - 1
	}
	out := sound.Reverberate(in)
	a, b := rms(cut(out, 0.2, 0.3)), rms(cut(out, 0.7, 0.8))
	if slope := (b - a) / 0.5; slope > -40 || slope < -90 {
		t.Errorf("it falls by %.0f dB a second", -slope)
	}
	last := math.Inf(1)
	for s := 0.15; s < 2.5; s += 0.1 {
		now := rms(cut(out, s, s+0.1))
		if now > last+1 {
			t.Errorf("louder again at %.1f s", s)
		}
		last = now
	}
	bands := func(from float64) float64 {
		b := measure.Bands(measure.Mono(cut(out, from, from+0.3)), []float64{500, 8000})
		return b[1] - b[0]
	}
	if early, late := bands(0.15), bands(0.8); late > early-3 {
		t.Errorf("high against middle: %.0f dB early, %.0f dB late", early, late)
	}
}

func TestLengthIsKnownBefore(t *testing.T) {
	for _, seq := range []event.Sequence{
		dense(3),
		notes(event.Note{Start: 1, Dur: 0.1, Key: 108, Velocity: 1}),
		{Ticks: []event.Tick{{Time: 0}}},
		{Notes: []event.Note{{Dur: 1, Key: 40, Velocity: 50}}, End: 12.5},
		{Notes: []event.Note{{Dur: 1, Key: 40, Velocity: 50}}, Pedals: []event.Pedal{{Time: 0.5, Value: 127}}}, // never lifted
	} {
		frames, err := piano(t).Length(seq, sound.Options{})
		if err != nil {
			t.Fatal(err)
		}
		got, rep := listen(t, seq, sound.Options{})
		if rep.Frames != frames || len(got) != 2*frames || frames < int(seq.End*sound.Rate) {
			t.Errorf("%d frames, announced %d", len(got)/2, frames)
		}
		if last := got[len(got)-2:]; math.Abs(float64(last[0])) > 1e-4 {
			t.Errorf("the file ends at %g", last[0])
		}
	}
}

func TestProgressAndCancel(t *testing.T) {
	for _, procs := range []int{1, 2} {
		last := -1.0
		o := sound.Options{Procs: procs, Progress: func(p float64) {
			if p < last || p > 1 {
				t.Errorf("progress goes from %g to %g", last, p)
			}
			last = p
		}}
		if _, err := piano(t).Record(context.Background(), io.Discard, dense(4), o); err != nil {
			t.Fatal(err)
		}
		if last != 1 {
			t.Errorf("progress ends at %g", last)
		}

		before := runtime.NumGoroutine()
		why := errors.New("enough")
		ctx, cancel := context.WithCancelCause(context.Background())
		var stopped time.Time
		o.Progress = func(p float64) {
			if p > 0.1 && stopped.IsZero() {
				stopped = time.Now()
				cancel(why)
			}
		}
		_, err := piano(t).Record(ctx, io.Discard, dense(100), o)
		if !errors.Is(err, why) {
			t.Errorf("cancelled: %v", err)
		}
		if d := time.Since(stopped); d > time.Second {
			t.Errorf("it took %v to stop", d)
		}
		for range 100 {
			if runtime.NumGoroutine() <= before {
				break
			}
			time.Sleep(5 * time.Millisecond)
		}
		if n := runtime.NumGoroutine(); n > before {
			t.Errorf("%d goroutines are left over", n-before)
		}
	}
}

// full is a disk with so much room.
type full struct{ left int }

var errFull = errors.New("no space left on device")

func (f *full) Write(b []byte) (int, error) {
	if f.left -= len(b); f.left < 0 {
		return 0, errFull
	}
	return len(b), nil
}

func TestBadInput(t *testing.T) {
	ok := event.Note{Dur: 0.1, Key: 60, Velocity: 60}
	for name, tt := range map[string]struct {
		seq  event.Sequence
		want error
	}{
		"nothing":               {event.Sequence{End: 3}, sound.ErrNothing},
		"only the pedal":        {event.Sequence{Pedals: []event.Pedal{{Time: 1, Value: 127}}}, sound.ErrNothing},
		"a day":                 {notes(ok, event.Note{Start: 86400, Dur: 1, Key: 60, Velocity: 60}), sound.ErrTooLong},
		"a note of a day":       {notes(event.Note{Dur: 86400, Key: 60, Velocity: 60}), sound.ErrTooLong},
		"no time":               {notes(event.Note{Start: math.NaN(), Dur: 1, Key: 60, Velocity: 60}), nil},
		"before the beginning":  {notes(event.Note{Start: -1, Dur: 1, Key: 60, Velocity: 60}), nil},
		"below the piano":       {notes(event.Note{Dur: 1, Key: 20, Velocity: 60}), nil},
		"harder than hard":      {notes(event.Note{Dur: 1, Key: 60, Velocity: 128}), nil},
		"not struck":            {notes(event.Note{Dur: 1, Key: 60}), nil},
		"pedal through floor":   {event.Sequence{Notes: []event.Note{ok}, Pedals: []event.Pedal{{Time: 0, Value: 200}}}, nil},
		"tick before beginning": {event.Sequence{Ticks: []event.Tick{{Time: -3}}}, nil},
		"endless":               {event.Sequence{Notes: []event.Note{ok}, End: math.Inf(1)}, sound.ErrTooLong},
	} {
		_, err := piano(t).Record(context.Background(), io.Discard, tt.seq, sound.Options{})
		if err == nil || tt.want != nil && !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", name, err, tt.want)
		}
	}
	for _, f := range codec.Formats() {
		for _, procs := range []int{1, 2} {
			_, err := piano(t).Record(context.Background(), &full{5000}, dense(2), sound.Options{Format: f, Procs: procs})
			if !errors.Is(err, errFull) {
				t.Errorf("%v on a full disk: %v", f, err)
			}
		}
	}
	if _, err := piano(t).Record(context.Background(), io.Discard, notes(ok), sound.Options{Bitrate: 7}); err == nil {
		t.Error("7 kbit/s is accepted")
	}
	if _, err := sound.NewInstrument(bytes.NewReader([]byte("nonsense, nonsense"))); err == nil {
		t.Error("nonsense is an instrument")
	}
}

// A few struck notes are not pressed flat to reach the loudness asked for.
func TestLevellingSparesPeaks(t *testing.T) {
	_, rep := listen(t, notes(event.Note{Dur: 0.2, Key: 84, Velocity: 100}, event.Note{Start: 6, Dur: 0.2, Key: 84, Velocity: 100}), sound.Options{Loudness: -6})
	if rep.Limited < -6.1 || rep.Peak > -1.49 {
		t.Errorf("limited by %.1f dB to %.2f dBFS", rep.Limited, rep.Peak)
	}
}
