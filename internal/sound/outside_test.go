package sound_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"gradatim/internal/perform"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
	"gradatim/internal/sound"
	"gradatim/internal/sound/codec"
	"gradatim/internal/sound/event"
	"gradatim/internal/sound/measure"
	"gradatim/theory"
)

// Two pages of the kinds that levels 1 and 5 have.
const (
	easy = `
title An Easy Page
level 1
pedal for rolls
meter 3/4
key G
tempo 112
straight
R1 D4:1/4 G4:1/4 B4:1/4 B4:1/2 A4:1/4 C5:1/2 A4:1/4 A4:3/4 D5:1/2 B4:1/4 B4:1/2 G4:1/4 E4:1/4 A4:1/4 C5:1/4 G4:3/4
L1 G3:3/4 E3:3/4 A3:3/4 D3:3/4 B2:3/4 E3:3/4 D3:3/4 G2:3/4
chord 0 G
chord 3/4 Em
chord 3/2 Am
chord 9/4 D7
`
	hard = `
title A Hard Page
level 5
pedal by ear
meter 4/4
key F
tempo 132
swing 2:1
R1 <D4+G4+A4>:1/8 C5:1/8 D5:1/4 <F4+A4+C5>:1/8 A4:3/8 F4:1/3 r:1/6 <E4+G4+D5>:1/2 A4:1/12 Bb4:1/12 C5:1/12 D5:1/16 C5:1/16 A4:1/8 C#5:0*grace D5:1/4*turn F4:1/4 <A4+D5+F5>:1/1*roll
L1 F2:1/4 A2:1/4 Bb2:1/4 B2:1/4 C3:1/4 D3:1/4 Bb2:1/4 C3:1/4 F2:1/4 G2:1/4 A2:1/4 C3:1/4 <F2+C3+A3>:1/1*roll
chord 0 F
chord 1/2 Bb
chord 1 F
chord 3/2 C7
chord 2 F
`
)

func performed(t testing.TB, text string, o perform.Options) perform.Performance {
	t.Helper()
	p, err := perform.Perform(scoretest.MustParse(text), o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// record writes a file of the given format.
func record(t testing.TB, seq event.Sequence, o sound.Options) (string, sound.Report) {
	t.Helper()
	format := o.Format
	if format == 0 {
		format = codec.MP3
	}
	name := filepath.Join(t.TempDir(), "take."+format.String())
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rep, err := piano(t).Record(context.Background(), f, seq, o)
	if err != nil {
		t.Fatal(err)
	}
	return name, rep
}

// decode has ffmpeg turn a file into 32-bit frames.
func decode(t testing.TB, file string) []float32 {
	t.Helper()
	out, err := exec.Command(sharedtest.Tool(t, "ffmpeg"), "-v", "error", "-i", file, "-f", "f32le", "-ar", "48000", "-ac", "2", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	frames := make([]float32, len(out)/4)
	for i := range frames {
		frames[i] = math.Float32frombits(binary.LittleEndian.Uint32(out[4*i:]))
	}
	return frames
}

// A4 is 440 Hz within 3 cents in the MP3 that ffmpeg decodes.
func TestA4InTheFile(t *testing.T) {
	file, _ := record(t, notes(event.Note{Dur: 2, Key: 69, Velocity: 80}), sound.Options{})
	s := measure.SpectrumOf(measure.Mono(cut(decode(t, file), 0.2, 1.6)))
	if off := measure.Cents(440, s.Peak(440, 100)); math.Abs(off) > 3 {
		t.Errorf("A4 is %+.2f cents off", off)
	} else {
		t.Logf("A4 %+.2f cents", off)
	}
}

// ffmpeg's ebur128 (EBU R 128, ITU-R BS.1770) reads -18 LUFS in every format; of a take
// with clicks, which are laid over what is levelled, at most 1 LU beside it: a bar of them
// alone is softer than the music. ffprobe and a full decode find the length that was announced; nothing clips.
func TestFilesByOtherPrograms(t *testing.T) {
	ffmpeg, ffprobe := sharedtest.Tool(t, "ffmpeg"), sharedtest.Tool(t, "ffprobe")
	integrated := regexp.MustCompile(`(?m)^\s+I:\s+(-?[\d.]+) LUFS`)
	for name, seq := range map[string]event.Sequence{
		"easy":    performed(t, easy, perform.Options{}).Sequence(),
		"hard":    performed(t, hard, perform.Options{}).Sequence(),
		"clicked": performed(t, hard, perform.Options{CountIn: 1, Click: true}).Sequence(),
		"a hand":  performed(t, hard, perform.Options{Hands: perform.LeftAlone, Tempo: perform.Tempo{Percent: 60}}).Sequence(),
		"a dense": dense(10),
	} {
		for _, format := range codec.Formats() {
			if format != codec.MP3 && name != "hard" {
				continue
			}
			file, rep := record(t, seq, sound.Options{Format: format})
			out, err := exec.Command(ffmpeg, "-hide_banner", "-nostats", "-i", file, "-af", "ebur128=framelog=verbose", "-f", "null", "-").CombinedOutput()
			m := integrated.FindAllSubmatch(out, -1)
			if err != nil || m == nil {
				t.Fatalf("%v\n%s", err, out)
			}
			within := 0.35
			if name == "clicked" {
				within = 1
			}
			if lufs, _ := strconv.ParseFloat(string(m[len(m)-1][1]), 64); math.Abs(lufs+18) > within {
				t.Errorf("%s %v: %.1f LUFS", name, format, lufs)
			}
			out, err = exec.Command(ffprobe, "-v", "error", "-show_entries", "format=duration", "-of", "csv=p=0", file).Output()
			if err != nil {
				t.Fatal(err)
			}
			slack := 0.021 // ffprobe counts the padding of the last packet
			if format == codec.MP3 {
				slack = 0.025 // and the Info frame
			}
			if s, _ := strconv.ParseFloat(strings.TrimSpace(string(out)), 64); s < rep.Seconds-1e-4 || s > rep.Seconds+slack {
				t.Errorf("%s %v: ffprobe reads %.4f s, announced %.4f s", name, format, s, rep.Seconds)
			}
			frames := decode(t, file)
			if len(frames) != 2*rep.Frames {
				t.Errorf("%s %v: ffmpeg decodes %d frames, announced %d", name, format, len(frames)/2, rep.Frames)
			}
			if peak := max(slices.Max(frames), -slices.Min(frames)); peak >= 1 {
				t.Errorf("%s %v: peak %.3f", name, format, peak)
			}
		}
	}
}

// agree compares strikes that were heard with those that were played: most are
// found, little else is, and the mean distance is small. Strikes nearer than
// apart are heard as one. All in seconds.
func agree(t *testing.T, what string, heard, played []float64, apart, within float64) {
	t.Helper()
	slices.Sort(played)
	var want []float64
	for _, s := range played {
		if len(want) == 0 || s-want[len(want)-1] > apart {
			want = append(want, s)
		}
	}
	var off []float64
	found := map[int]bool{}
	for _, w := range want {
		best := -1
		for i, h := range heard {
			if best < 0 || math.Abs(h-w) < math.Abs(heard[best]-w) {
				best = i
			}
		}
		if best >= 0 && math.Abs(heard[best]-w) < 0.03 {
			found[best] = true
			off = append(off, heard[best]-w)
		}
	}
	mean, abs := 0.0, 0.0
	for _, d := range off {
		mean += d / float64(len(off))
		abs += math.Abs(d) / float64(len(off))
	}
	t.Logf("%s: %d of %d strikes heard, %d others; %.1f ms from their time, mean offset %+.1f ms", what, len(off), len(want), len(heard)-len(found), abs*1000, mean*1000)
	if float64(len(off)) < 0.9*float64(len(want)) || float64(len(heard)-len(found)) > 0.25*float64(len(want))+2 {
		t.Errorf("%s: heard %.3f, played %.3f", what, heard, want)
	}
	if abs > within {
		t.Errorf("%s: %.1f ms from their time", what, abs*1000)
	}
}

func starts(p perform.Performance) (out []float64) {
	for _, n := range p.Notes {
		if !n.Shared {
			out = append(out, n.Start)
		}
	}
	return out
}

// Notes are heard in the MP3 when the performance says they are struck, within
// 5 ms on average.
func TestOnsetsAgainstTheTiming(t *testing.T) {
	for name, text := range map[string]string{"easy": easy, "hard": hard} {
		for _, o := range []perform.Options{{}, {Hands: perform.RightAlone}, {Hands: perform.LeftAlone, Tempo: perform.Tempo{Percent: 75}}} {
			p := performed(t, text, o)
			file, _ := record(t, p.Sequence(), sound.Options{})
			agree(t, fmt.Sprint(name, " ", o.Hands), measure.Onsets(measure.Mono(decode(t, file))), starts(p), 0.025, 0.005)
		}
	}
}

// fluidsynth plays the MIDI file of the same performance. Its strikes are heard
// where ours are, but for what its samples lag. (It smears rolled chords, so
// what is nearer than 60 ms counts as one.)
func TestFluidsynthPlaysTheSameTimes(t *testing.T) {
	for name, text := range map[string]string{"easy": easy, "hard": hard} {
		p := performed(t, text, perform.Options{})
		lead := make([]float64, int(perform.Lead*sound.Rate)) // a MIDI file has none
		theirs := append(lead, measure.Mono(decode(t, fluidsynth(t, p)))...)
		agree(t, name, measure.Onsets(theirs), starts(p), 0.06, 0.009)
	}
}

// fluidsynth renders a performance with the program and sounds of Debian.
func fluidsynth(t testing.TB, p perform.Performance) string {
	t.Helper()
	const font = "/usr/share/sounds/sf2/FluidR3_GM.sf2"
	tool := sharedtest.Tool(t, "fluidsynth")
	if _, err := os.Stat(font); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skip(err)
	}
	b, err := smf.Write(p.MIDI("", ""))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	mid, wav := filepath.Join(dir, "a.mid"), filepath.Join(dir, "a.wav")
	if err := os.WriteFile(mid, b, 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(tool, "-ni", "-r", "48000", "-F", wav, font, mid).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return wav
}

// The long-term spectrum lies between this piano as recorded and another one:
// FluidR3_GM is brighter, by no more than the stated limits. Compared is the power of both
// channels. Their mean would compare how the microphones stood as well: what is high in
// a note differs from channel to channel and cancels there, at 4 kHz 6 to 7 dB more in ours
// than in theirs; it is told beside it. Both play the page at the same velocities; ours is
// darker at soft touches, theirs is not.
func TestSpectrumAgainstFluidR3(t *testing.T) {
	centres := []float64{125, 250, 500, 1000, 2000, 4000, 8000}
	share := func(channels ...[]float64) []float64 {
		power := make([]float64, len(centres))
		total := 0.0
		for _, c := range channels {
			for i, x := range measure.Bands(c, centres) {
				power[i] += math.Pow(10, x/10)
				total += math.Pow(10, x/10)
			}
		}
		for i, x := range power {
			power[i] = 10 * math.Log10(x/total)
		}
		return power
	}
	limits := []float64{4, 4, 3, 6, 8, 9, 19}
	for name, text := range map[string]string{"easy": easy, "hard": hard} {
		p := performed(t, text, perform.Options{})
		ours, _ := listen(t, p.Sequence(), sound.Options{})
		theirs := decode(t, fluidsynth(t, p))
		a, b := share(channel(ours, 0), channel(ours, 1)), share(channel(theirs, 0), channel(theirs, 1))
		c, d := share(measure.Mono(ours)), share(measure.Mono(theirs))
		var both, mono []string
		for i, hertz := range centres {
			both = append(both, fmt.Sprintf("%g Hz %+.1f", hertz, a[i]-b[i]))
			mono = append(mono, fmt.Sprintf("%+.1f", c[i]-d[i]))
			if math.Abs(a[i]-b[i]) > limits[i] {
				t.Errorf("%s: %g Hz differs by %.1f dB", name, hertz, a[i]-b[i])
			}
		}
		t.Logf("%s, against FluidR3_GM in dB: %s; in mono %s", name, strings.Join(both, ", "), strings.Join(mono, ", "))
	}
}

// channel is one of two interleaved channels.
func channel(frames []float32, c int) []float64 {
	out := make([]float64, len(frames)/2)
	for i := range out {
		out[i] = float64(frames[2*i+c])
	}
	return out
}

// Memory does not grow with length: at most 120 MB at the peak, for the longest
// take that is kept, for one of six minutes and in every format.
func TestMemory(t *testing.T) {
	if os.Getenv("SOUND_MEMORY") != "" {
		useMemory(t)
		return
	}
	if runtime.GOOS != "linux" {
		t.Skip("reads /proc")
	}
	piano(t)
	for _, what := range []string{"60 flac 1", "205 mp3 2", "360 wav 2"}[:3/sharedtest.Every(3, 1)] {
		cmd := exec.Command(os.Args[0], "-test.run=^TestMemory$", "-test.v")
		cmd.Env = append(os.Environ(), "SOUND_MEMORY="+what)
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		m := regexp.MustCompile(`peak (\d+) kB`).FindSubmatch(out)
		if m == nil {
			t.Fatalf("%s", out)
		}
		kb, _ := strconv.Atoi(string(m[1]))
		t.Logf("seconds, format, processors %s: peak %d MB", what, kb/1000)
		if kb > 120_000 {
			t.Errorf("%s: peak %d MB", what, kb/1000)
		}
	}
}

func useMemory(t *testing.T) {
	var seconds float64
	var ext string
	var procs int
	if _, err := fmt.Sscan(os.Getenv("SOUND_MEMORY"), &seconds, &ext, &procs); err != nil {
		t.Fatal(err)
	}
	format, err := codec.ParseFormat(ext)
	if err != nil {
		t.Fatal(err)
	}
	out, err := os.Create(filepath.Join(t.TempDir(), "take"))
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	if _, err := piano(t).Record(context.Background(), out, dense(seconds-2), sound.Options{Format: format, Procs: procs}); err != nil {
		t.Fatal(err)
	}
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	i := bytes.Index(status, []byte("VmHWM:"))
	var kb int
	if _, err := fmt.Sscan(string(status[i+6:]), &kb); err != nil {
		t.Fatal(err)
	}
	fmt.Printf("peak %d kB\n", kb)
}

// BenchmarkRender plays three minutes to a WAV file in one process of ours and
// in one of fluidsynth, and compares the processor time that each takes, which
// other work on the machine does not change: "×real-time" of both and how many
// times faster ours is.
func BenchmarkRender(b *testing.B) {
	tool := sharedtest.Tool(b, "fluidsynth")
	piano(b)
	q := smf.Sequence{Division: 1000, Tempos: []smf.Tempo{{MicrosPerQuarter: 1000000}}}
	var track smf.Track
	seq := dense(180)
	for _, n := range seq.Notes {
		track.Notes = append(track.Notes, smf.Note{At: int64(n.Start * 1000), Length: int64(n.Dur * 1000), Key: n.Key, Velocity: n.Velocity})
	}
	for _, p := range seq.Pedals {
		track.Controls = append(track.Controls, smf.Control{At: int64(p.Time * 1000), Number: smf.DamperPedal, Value: p.Value})
	}
	q.Tracks = []smf.Track{track}
	data, err := smf.Write(q)
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a.mid"), data, 0o644); err != nil {
		b.Fatal(err)
	}
	b.Run("seconds=182", func(b *testing.B) {
		var ours, theirs time.Duration
		for b.Loop() {
			cmd := exec.Command(os.Args[0], "-test.run=^TestMemory$")
			cmd.Env = append(os.Environ(), "GOMAXPROCS=1", "SOUND_MEMORY=182 wav 1")
			ours += busy(b, cmd)
			theirs += busy(b, exec.Command(tool, "-ni", "-r", "48000", "-F", filepath.Join(dir, "a.wav"), "/usr/share/sounds/sf2/FluidR3_GM.sf2", filepath.Join(dir, "a.mid")))
		}
		b.ReportMetric(182*float64(b.N)/ours.Seconds(), "×real-time")
		b.ReportMetric(182*float64(b.N)/theirs.Seconds(), "×real-time-fluidsynth")
		b.ReportMetric(theirs.Seconds()/ours.Seconds(), "×faster")
	})
}

// busy runs a command and returns the processor time that it took.
func busy(b *testing.B, cmd *exec.Cmd) time.Duration {
	b.Helper()
	if out, err := cmd.CombinedOutput(); err != nil {
		b.Fatalf("%v\n%s", err, out)
	}
	return cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
}

// BenchmarkPracticeSet makes the seven files that a lesson needs of a page of
// 32 bars: whole; at 60, 75 and 90 %; each hand; without the tune. Two are
// recorded at a time.
func BenchmarkPracticeSet(b *testing.B) {
	if testing.Short() {
		b.Skip("makes seven recordings")
	}
	page := scoretest.MustParse(hard)
	whole := page
	for n := 1; n < 8; n++ {
		by := theory.Dur(n) * page.End()
		for _, x := range page.Bars {
			x.At += by
			x.Number += 4 * n
			whole.Bars = append(whole.Bars, x)
		}
		for _, x := range page.Notes {
			x.At += by
			x.ID = ""
			whole.Notes = append(whole.Notes, x)
		}
	}
	whole = whole.Finish()
	set := []perform.Options{
		{}, {Tempo: perform.Tempo{Percent: 60}}, {Tempo: perform.Tempo{Percent: 75}}, {Tempo: perform.Tempo{Percent: 90}},
		{Hands: perform.LeftAlone}, {Hands: perform.RightAlone}, {Hands: perform.WithoutTune},
	}
	b.Run("files=7/bars=32", func(b *testing.B) {
		seconds := 0.0
		for b.Loop() {
			in := sound.NewSmallInstrument(piano(b), 576) // nothing decoded yet
			todo := make(chan perform.Options, len(set))
			for _, o := range set {
				todo <- o
			}
			close(todo)
			var wg sync.WaitGroup
			var mu sync.Mutex
			seconds = 0
			for range 2 {
				wg.Go(func() {
					for o := range todo {
						p, err := perform.Perform(whole, o)
						if err != nil {
							b.Error(err)
							return
						}
						rep, err := in.Record(context.Background(), io.Discard, p.Sequence(), sound.Options{})
						if err != nil {
							b.Error(err)
							return
						}
						mu.Lock()
						seconds += rep.Seconds
						mu.Unlock()
					}
				})
			}
			wg.Wait()
		}
		b.ReportMetric(seconds*float64(b.N)/b.Elapsed().Seconds(), "×real-time")
	})
}
