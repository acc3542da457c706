package sound_test

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/base64"
	"encoding/binary"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
	"gradatim/internal/sound"
	"gradatim/internal/sound/codec"
	"gradatim/internal/sound/event"
	"gradatim/internal/sound/measure"
)

//go:embed testdata/player.html
var player []byte

// heardFrames is mono sound that a page captured.
type heardFrames struct {
	Data     string  // little-endian 32-bit frames
	Duration float64 // of the audio element
	Current  float64 // position that it reports after seeking
}

func (h heardFrames) mono(t *testing.T) []float64 {
	t.Helper()
	b, err := base64.StdEncoding.DecodeString(h.Data)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]float64, len(b)/4)
	for i := range out {
		out[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:])))
	}
	return out
}

// A page in real Chromium plays the MP3: it has the announced length to the
// frame, starts and seeks to the right moment, and keeps its pitch at 60 %.
func TestChromiumPlaysTheFile(t *testing.T) {
	browser := sharedtest.Tool(t, "chromium")
	// A tone that lasts, then a rising scale to tell places apart.
	seq := event.Sequence{Notes: []event.Note{{Dur: 4, Key: 69, Velocity: 80}}}
	for i := range 20 {
		seq.Notes = append(seq.Notes, event.Note{Start: 4.5 + 0.13*float64(i), Dur: 0.13, Key: 50 + i, Velocity: 70})
	}
	file, rep := record(t, seq, sound.Options{})
	mp3, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{"/take.mp3": mp3}
	for _, f := range []codec.Format{codec.WAV, codec.Opus, codec.FLAC} {
		name, _ := record(t, seq, sound.Options{Format: f})
		if files["/take."+f.String()], err = os.ReadFile(name); err != nil {
			t.Fatal(err)
		}
	}
	want := measure.Mono(decode(t, file))

	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if b := files[r.URL.Path]; b != nil {
			http.ServeContent(w, r, r.URL.Path, time.Time{}, bytes.NewReader(b))
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		w.Write(player)
	}))
	defer srv.Close()

	ctx, cancel := chromedp.NewContext(context.Background(), chromedp.WithAllocatorOptions(
		chromedp.ExecPath(browser), chromedp.NoSandbox,
		chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		chromedp.Flag("mute-audio", false), // a muted page would capture silence
	))
	defer cancel()
	ctx, cancel = context.WithTimeout(ctx, 90*time.Second)
	defer cancel()

	if err := chromedp.Do(ctx, chromedp.Navigate(srv.URL)); err != nil {
		t.Fatal(err)
	}
	run := func(script string) heardFrames {
		t.Helper()
		h, err := chromedp.Run(ctx, chromedp.Evaluate[heardFrames](script, chromedp.EvalAwaitPromise))
		if err != nil {
			t.Fatal(err)
		}
		return h
	}
	whole, sought, slow := run("whole()"), run("play('take.mp3', 5.25, 1, 0.8)"), run("play('take.mp3', 0.5, 0.6, 1.6)")

	got := whole.mono(t)
	if len(got) != rep.Frames {
		t.Errorf("Chromium decodes %d frames, announced %d", len(got), rep.Frames)
	}
	if at, _ := place(want, got[:min(len(got), 48000)], 0, 48); at != 0 {
		t.Errorf("the sound starts %d frames late", at)
	}
	if math.Abs(sought.Duration-rep.Seconds) > 0.001 {
		t.Errorf("the element lasts %.4f s, announced %.4f s", sought.Duration, rep.Seconds)
	}

	// What is heard after seeking is what the file holds there. In MP3 a browser
	// finds a place by proportion and starts with a whole frame of 24 ms, at
	// the delay of coder and decoder; the other formats are exact.
	for _, tt := range []struct {
		file   string
		within float64
	}{{"take.mp3", 0.026}, {"take.wav", 0.002}, {"take.flac", 0.002}, {"take.opus", 0.002}} {
		h := sought
		if tt.file != "take.mp3" {
			h = run("play('" + tt.file + "', 5.25, 1, 0.8)")
		}
		// A busy machine drops blocks of what is played in real time: then the
		// capture, not the file, is unlike, and it is made again.
		var at int
		var like float64
		for range 3 {
			heard := trimmed(h.mono(t))
			if len(heard) < 20000 {
				t.Fatalf("%s: %d frames heard after seeking", tt.file, len(heard))
			}
			if at, like = place(want, heard[:20000], int(5.25*sound.Rate), 2400); like >= 0.97 {
				break
			}
			h = run("play('" + tt.file + "', 5.25, 1, 0.8)")
		}
		off := float64(at)/sound.Rate - 5.25
		t.Logf("%s: sought 5.25 s, heard %+.1f ms from it (likeness %.3f)", tt.file, off*1000, like)
		if like < 0.97 || math.Abs(off) > tt.within || math.Abs(h.Current-5.25) > 1e-6 {
			t.Errorf("%s: sought 5.25 s, at %.6f s, heard %+.1f ms from it (likeness %.3f)", tt.file, h.Current, off*1000, like)
		}
	}

	tone := trimmed(slow.mono(t))
	if len(tone) < 50000 {
		t.Fatalf("%d frames heard at 60 %%", len(tone))
	}
	hz := measure.SpectrumOf(tone[4000:50000]).Peak(440, 1000)
	if off := measure.Cents(440, hz); math.Abs(off) > 10 {
		t.Errorf("at 60 %% A4 is %+.1f cents off", off)
	} else {
		t.Logf("at 60 %% A4 is %+.1f cents off", off)
	}
}

// trimmed drops the silence before the first sound.
func trimmed(mono []float64) []float64 {
	for i, x := range mono {
		if math.Abs(x) > 1e-5 {
			return mono[i:]
		}
	}
	return nil
}

// place finds where a stretch of sound lies in a whole, near a position, and
// how like it is (the normalised correlation).
func place(whole, part []float64, near, reach int) (at int, like float64) {
	for lag := max(near-reach, 0); lag <= near+reach && lag+len(part) <= len(whole); lag++ {
		var ab, aa, bb float64
		for i, x := range part {
			y := whole[lag+i]
			ab += x * y
			aa += x * x
			bb += y * y
		}
		if c := ab / math.Sqrt(aa*bb); c > like {
			at, like = lag, c
		}
	}
	return at, like
}
