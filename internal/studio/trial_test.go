package studio_test

import (
	"context"
	"encoding/binary"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/assets"
	"gradatim/internal/edition"
	"gradatim/internal/perform"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
	"gradatim/internal/sound"
	"gradatim/internal/sound/event"
	"gradatim/internal/sound/measure"
	"gradatim/score"
)

// The trial is a piece that nobody would listen to: a chromatic scale at eight strengths
// of touch, every strength on a few keys, signs of loudness, a hairpin, changes of the
// pedal, a repeated chord, a roll, an end; and the pages of our demo tunes. What is measured
// on it is one table, FluidSynth with Debian's FluidR3_GM beside it (`make sound`). CI runs
// it with fewer keys and without the other side, and holds the floors: each is stated where
// its figure is told. Floors without a source are this project's own.
var (
	table  = flag.Bool("table", false, "play the whole trial and print the table")
	beside = flag.Bool("beside", true, "FluidSynth beside it")
	part   = flag.String("part", "", "only this part of it")
)

// A player plays a sequence and returns interleaved stereo frames that nothing has levelled.
type player func(event.Sequence) []float32

// figures is the table that is being filled.
type figures struct {
	t    *testing.T
	rows []string
}

// tell adds a row. The floor holds for ours, value by value; NaN stands for no figure.
func (f *figures) tell(what string, least, most float64, unit string, ours []float64, theirs ...[]float64) {
	f.t.Helper()
	for _, x := range ours {
		if !(x >= least && x <= most) {
			f.t.Errorf("%s: %.2f %s, want %g to %g", what, x, unit, least, most)
		}
	}
	text := func(xs []float64) string {
		var out []string
		for _, x := range xs {
			out = append(out, fmt.Sprintf("%.1f", x))
		}
		return strings.Join(out, ", ")
	}
	want := ""
	switch {
	case !math.IsInf(least, 0) && !math.IsInf(most, 0):
		want = fmt.Sprintf("%g … %g", least, most)
	case !math.IsInf(least, 0):
		want = fmt.Sprintf("≥ %g", least)
	case !math.IsInf(most, 0):
		want = fmt.Sprintf("≤ %g", most)
	}
	other := ""
	if len(theirs) > 0 {
		other = text(theirs[0])
	}
	f.rows = append(f.rows, fmt.Sprintf("| %s, %s | %s | %s | %s |", what, unit, want, text(ours), other))
}

var inf = math.Inf(1)

func TestTrial(t *testing.T) {
	file, err := assets.Piano()
	if err != nil {
		sharedtest.Absent(t, err.Error())
	}
	in, err := sound.NewInstrument(file)
	if err != nil {
		t.Fatal(err)
	}
	ours := func(o sound.Options) player {
		o.Loudness, o.Procs = -45, 2 // far from the limiter
		return func(seq event.Sequence) (out []float32) {
			rep, err := in.Play(context.Background(), seq, o, func(int) (func([]float32) error, error) {
				return func(b []float32) error { out = append(out, b...); return nil }, nil
			})
			if err != nil {
				t.Fatal(err)
			}
			g := float32(math.Pow(10, -rep.Gain/20))
			for i := range out {
				out[i] *= g
			}
			return out
		}
	}
	var theirs player
	if *table && *beside {
		theirs = fluidsynth(t)
	}
	f := &figures{t: t}
	for _, p := range []struct {
		name string
		play func(f *figures, ours, theirs player)
	}{{"keyboard", keyboard}, {"layers", layers}, {"loudness", loudness}, {"pedal", pedal}, {"ends", ends}, {"pages", pages}} {
		if *part == "" || *part == p.name {
			p.play(f, ours(sound.Options{}), theirs)
		}
	}
	if *table {
		fmt.Println("| figure | floor | ours | FluidSynth |\n|---|---|---|---|")
		fmt.Println(strings.Join(f.rows, "\n"))
	}
}

// both plays on one or two players and measures.
func both(theirs, ours player, seq event.Sequence, measured func([]float32) []float64) (a []float64, b [][]float64) {
	a = measured(ours(seq))
	if theirs != nil {
		b = [][]float64{measured(theirs(seq))}
	}
	return a, b
}

// row gathers the same figure of both sides.
func row(i int, a []float64, b [][]float64) ([]float64, [][]float64) {
	if b == nil {
		return a[i : i+1], nil
	}
	return a[i : i+1], [][]float64{b[0][i : i+1]}
}

// keyboard: level, image and mono by key; level by touch.
func keyboard(f *figures, ours, theirs player) {
	keys, touches := []int{}, []int{16, 32, 48, 64, 80, 96, 112, 127}
	for k := 21; k <= 108; k++ {
		if *table || k >= 54 && k <= 78 {
			keys = append(keys, k)
		}
	}
	if !*table {
		touches = []int{32, 64, 96}
	}
	const each = 0.7
	var seq event.Sequence
	at := 0.2
	for _, v := range touches {
		for _, k := range keys {
			seq.Notes = append(seq.Notes, event.Note{Start: at, Dur: 0.5, Key: k, Velocity: v})
			at += each
		}
	}
	a, b := both(theirs, ours, seq, func(x []float32) []float64 {
		jump := make([]float64, 4) // stereo, mono, image, fold-down
		var sides [2]float64
		worst, most, centre := 0.0, 0.0, 0.0
		n := 0
		soft, span := math.Inf(1), math.Inf(1)
		for i := range keys {
			var first float64 // of the softest touch
			for j := range touches {
				p := take(x, 0.2+each*float64(j*len(keys)+i), 0.45)
				if j == 0 {
					first = p.stereo()
				}
				if j > 0 {
					q := take(x, 0.2+each*float64((j-1)*len(keys)+i), 0.45)
					soft = min(soft, p.stereo()-q.stereo())
				}
				if j == len(touches)-1 {
					span = min(span, p.stereo()-first)
				}
				worst = max(worst, -p.fold())
				if keys[i] >= 36 && keys[i] <= 84 {
					sides[0] += p.left / (p.left + p.right)
					sides[1] += p.right / (p.left + p.right)
				}
				most = max(most, math.Abs(p.image()))
				if i > 0 {
					q := take(x, 0.2+each*float64(j*len(keys)+i-1), 0.45)
					jump[0] = max(jump[0], math.Abs(p.stereo()-q.stereo()))
					jump[1] = max(jump[1], math.Abs(p.mono()-q.mono()))
					jump[2] = max(jump[2], math.Abs(p.image()-q.image()))
					jump[3] = max(jump[3], math.Abs(p.fold()-q.fold()))
				}
				n++
			}
		}
		centre = 10 * math.Log10(sides[0]/sides[1])
		return append(jump, worst, most, centre, soft, span)
	})
	for i, r := range []struct {
		what        string
		least, most float64
	}{
		{"level, largest step between neighbouring keys, stereo", -inf, 1.5},
		{"the same, mono", -inf, 1.5},
		{"left − right, largest step between neighbouring keys", -inf, 2.2},
		{"what mono loses, largest step between neighbouring keys", -inf, 1.5},
		{"what mono loses, the worst key", -inf, 2},
		{"left − right, the key farthest from the centre", -inf, 4},
		{"left − right, mean of keys 36 to 84", -0.5, 0.5},
		{"level, smallest step between neighbouring touches", 1, inf},
		{"level, smallest span from the first to the last touch", -inf, inf},
	} {
		x, y := row(i, a, b)
		f.tell(r.what, r.least, r.most, "dB", x, y...)
	}
}

// layers: brightness and level at every touch on a few keys. Brightness is the power above
// 2 kHz in that of the whole, by a transform: nothing leaks into it from below.
func layers(f *figures, ours, theirs player) {
	keys := []int{36, 48, 60, 72}
	from, to := 24, 127
	if !*table {
		keys = []int{48, 60}
		from = 40
	}
	const each, pause = 0.6, 2.0 // the hardest touch dies away before the softest on the next key
	var seq event.Sequence
	at := 0.2
	for _, k := range keys {
		for v := from; v <= to; v++ {
			seq.Notes = append(seq.Notes, event.Note{Start: at, Dur: 0.4, Key: k, Velocity: v})
			at += each
		}
		at += pause
	}
	a, b := both(theirs, ours, seq, func(x []float32) []float64 {
		up, down, flat, level, span := 0.0, 0.0, 0, 0.0, math.Inf(1)
		for i := range keys {
			var bright, loud []float64
			for v := from; v <= to; v++ {
				at := 0.2 + pause*float64(i) + each*float64(i*(to-from+1)+v-from)
				bright = append(bright, brightness(x, at, 0.4))
				loud = append(loud, take(x, at, 0.4).stereo())
			}
			for j := 1; j < len(bright); j++ {
				d := bright[j] - bright[j-1]
				up, down = max(up, d), min(down, d)
				if math.Abs(d) < 0.01 {
					flat++
				}
				level = max(level, math.Abs(loud[j]-loud[j-1]))
			}
			span = min(span, bright[len(bright)-1]-bright[0])
		}
		return []float64{up, down, 100 * float64(flat) / float64(len(keys)*(to-from)), level, span}
	})
	for i, r := range []struct {
		what, unit  string
		least, most float64
	}{
		{"brightness, largest step up between neighbouring touches", "dB", -inf, 1},
		{"brightness, largest step down", "dB", -0.3, inf},
		{"touches that change no brightness", "%", -inf, 5},
		{"level, largest step between neighbouring touches", "dB", -inf, 1.2},
		{"brightness, smallest span from the softest touch to the hardest", "dB", 6, inf},
	} {
		x, y := row(i, a, b)
		f.tell(r.what, r.least, r.most, r.unit, x, y...)
	}
}

// signed is a few bars under one sign, or with one more at their middle.
func signed(signs string) score.Score {
	return scoretest.MustParse(`
title Signs
level 4
pedal by ear
meter 4/4
key C
tempo 100
straight
R1 E4:1/4 G4:1/4 C5:1/4 B4:1/4 A4:1/4 F4:1/4 A4:1/4 G4:1/4 E4:1/4 G4:1/4 C5:1/4 D5:1/4 E5:1/4 D5:1/4 B4:1/4 C5:1/4
L1 <C3+G3>:1/2 <C3+G3>:1/2 <F3+A3>:1/2 <F3+A3>:1/2 <C3+G3>:1/2 <C3+G3>:1/2 <G3+B3>:1/2 <C3+G3>:1/2
chord 0 C
chord 1 F
chord 2 C
chord 3 G7
chord 7/2 C
` + signs)
}

func performed(t *testing.T, s score.Score, o perform.Options) perform.Performance {
	t.Helper()
	p, err := perform.Perform(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// loudness: what signs and hairpins are worth in what is heard.
func loudness(f *figures, ours, theirs player) {
	lufs := func(p player, signs string) float64 {
		return loud(p(performed(f.t, signed(signs), perform.Options{}).Sequence()))
	}
	run := func(p player) []float64 {
		var out []float64
		for _, sign := range []string{"ppp", "pp", "p", "mp", "mf", "f", "ff", "fff"} {
			out = append(out, lufs(p, "sign 0 R dynamic "+sign+"\nsign 0 L dynamic "+sign+"\n"))
		}
		steps := []float64{out[6] - out[1], math.Inf(1)}
		for i := 1; i < len(out); i++ {
			steps[1] = min(steps[1], out[i]-out[i-1])
		}
		// From pp to ff under a hairpin: last bar against first; and how even the bars grow.
		x := p(performed(f.t, signed("sign 0 R dynamic pp\nsign 0 L dynamic pp\nsign 0 R cresc\nsign 0 L cresc\nsign 7/2 R hairpin end\nsign 7/2 L hairpin end\nsign 7/2 R dynamic ff\nsign 7/2 L dynamic ff\n"), perform.Options{}).Sequence())
		bar := func(i int) float64 { return take(x, 0.1+2.4*float64(i), 2.3).stereo() }
		return append(steps, bar(3)-bar(0))
	}
	a := run(ours)
	var b [][]float64
	if theirs != nil {
		b = [][]float64{run(theirs)}
	}
	for i, r := range []struct {
		what        string
		least, most float64
	}{
		{"pp to ff", 18, inf},
		{"smallest step between neighbouring signs from ppp to fff", 1, inf},
		{"last bar over first of four under a hairpin from pp to ff", 10, inf},
	} {
		x, y := row(i, a, b)
		f.tell(r.what, r.least, r.most, "LU", x, y...)
	}
}

// pedal: what it adds to a held note, what a change leaves of the old harmony, half pedal.
func pedal(f *figures, ours, theirs player) {
	held := func(down bool) event.Sequence {
		s := event.Sequence{Notes: []event.Note{{Start: 0.5, Dur: 3, Key: 48, Velocity: 80}}, End: 4}
		if down {
			s.Pedals = []event.Pedal{{Time: 0.1, Value: 127}, {Time: 3.8}}
		}
		return s
	}
	change := func(value int) event.Sequence {
		var s event.Sequence
		for _, k := range []int{48, 55, 64} {
			s.Notes = append(s.Notes, event.Note{Start: 0.5, Dur: 0.3, Key: k, Velocity: 80})
		}
		s.Pedals = []event.Pedal{{Time: 0.2, Value: 127}, {Time: 1.5, Value: value}, {Time: 1.65, Value: 127}, {Time: 3.5}}
		s.End = 4
		return s
	}
	run := func(p player) []float64 {
		dry, wet := p(held(false)), p(held(true))
		diff := make([]float32, min(len(dry), len(wet)))
		for i := range diff {
			diff[i] = wet[i] - dry[i]
		}
		added := take(diff, 1, 2).stereo() - take(dry, 1, 2).stereo()
		var left []float64
		for _, v := range []int{0, 84, 127} {
			x := p(change(v))
			left = append(left, take(x, 1.75, 0.25).stereo()-take(x, 1.2, 0.25).stereo())
		}
		return append([]float64{max(added, -99)}, left...)
	}
	a := run(ours)
	var b [][]float64
	if theirs != nil {
		b = [][]float64{run(theirs)}
	}
	for i, r := range []struct {
		what        string
		least, most float64
	}{
		{"what the pedal adds to a held C3, against the note", -40, -15},
		{"what a change of the pedal leaves of a chord", -inf, -25},
		{"what half a change leaves", -25, -3},
		{"what is left without a change", -5, inf},
	} {
		x, y := row(i, a, b)
		f.tell(r.what, r.least, r.most, "dB", x, y...)
	}
	// A chord struck eight times under the pedal does not grow without end.
	var seq event.Sequence
	for i := range 8 {
		for _, k := range []int{48, 60, 64, 67} {
			seq.Notes = append(seq.Notes, event.Note{Start: 0.3 + 0.4*float64(i), Dur: 0.3, Key: k, Velocity: 70})
		}
	}
	seq.Pedals = []event.Pedal{{Time: 0.1, Value: 127}, {Time: 3.6}}
	a, b = both(theirs, ours, seq, func(x []float32) []float64 {
		return []float64{take(x, 0.3+7*0.4, 0.35).stereo() - take(x, 0.3, 0.35).stereo()}
	})
	f.tell("a chord's eighth strike over its first, under the pedal", -1, 3, "dB", a, b...)
}

// ends: how the last chord goes.
func ends(f *figures, ours, theirs player) {
	p := performed(f.t, signed(""), perform.Options{})
	a, b := both(theirs, ours, p.Sequence(), func(x []float32) []float64 {
		// The time from the last strike until the sound is 45 dB down, or has ended.
		last := 0.0
		for _, n := range p.Notes {
			last = max(last, n.Start)
		}
		top := take(x, last, 0.2).stereo()
		at := last
		for ; at+0.05 < float64(len(x)/2)/measure.Rate && take(x, at, 0.05).stereo() > top-45; at += 0.05 {
		}
		return []float64{at - last}
	})
	f.tell("from the last strike until 45 dB lower", 3, inf, "s", a, b...)
	roll := performed(f.t, scoretest.MustParse(`
title Roll
meter 4/4
key C
tempo 60
straight
R1 <C4+E4+G4+C5>:1/1*roll r:1/1
`), perform.Options{Even: true})
	var starts []float64
	for _, n := range roll.Notes {
		starts = append(starts, n.Start)
	}
	f.tell("from the first to the last note of a roll of four", 60, 125, "ms", []float64{1000 * (slices.Max(starts) - slices.Min(starts))})
}

// pages: the demo tunes at every level.
func pages(f *figures, ours, theirs player) {
	names := []string{"lantern.abc"}
	if *table {
		names = append(names, "harbour.abc")
	}
	over := make([][]float64, 5)
	var softer, below, moves, leads, drifts, bands []float64
	other := make([][]float64, 5)
	rumble, theirRumble := math.Inf(-1), math.Inf(-1)
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", name))
		if err != nil {
			f.t.Fatal(err)
		}
		song, err := gradatim.Read(name, data, 0)
		if err != nil {
			f.t.Fatal(err)
		}
		ladder, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			f.t.Fatal(err)
		}
		for i, a := range ladder {
			if !*table && i != len(ladder)-1 {
				continue
			}
			whole := performed(f.t, a.Score, perform.Options{})
			tune := performed(f.t, a.Score, perform.Options{Hands: perform.Melody}).Sequence()
			rest := performed(f.t, a.Score, perform.Options{Hands: perform.WithoutTune}).Sequence()
			over[i] = append(over[i], loud(ours(tune))-loud(ours(rest)))
			x := ours(whole.Sequence())
			rumble = max(rumble, under30(x))
			if theirs != nil {
				other[i] = append(other[i], loud(theirs(tune))-loud(theirs(rest)))
				y := theirs(whole.Sequence())
				theirRumble = max(theirRumble, under30(y))
				if i == 2 {
					bands = append(bands, octaves(x, y)...)
				}
			}
			s, b := struckWith(whole)
			softer, below = append(softer, s), append(below, b)
			moves = append(moves, float64(len(whole.Pedals))/float64(len(a.Score.Bars)))
			leads = append(leads, lead(whole))
			drifts = append(drifts, drift(whole))
		}
	}
	for i := range over {
		if over[i] == nil {
			continue
		}
		var y [][]float64
		if theirs != nil {
			y = [][]float64{other[i]}
		}
		f.tell(fmt.Sprintf("tune over accompaniment, level %d", i+1), 4, 12, "LU", over[i], y...)
	}
	f.tell("notes of the tune softer than a note struck with them", -inf, 1, "%", softer)
	f.tell("than all that is struck with them together (40 log v)", -inf, 5, "%", below)
	f.tell("moves of the pedal, by tune and level", 0.05, 12, "a bar", moves)
	f.tell("the tune's lead, mean", 12, 25, "ms", leads)
	f.tell("beats against their neighbours, standard deviation", 0.2, 3, "%", drifts)
	x, y := []float64{rumble}, [][]float64(nil)
	if theirs != nil {
		y = [][]float64{{theirRumble}}
	}
	f.tell("under 30 Hz, against the whole", -inf, -45, "dB", x, y...)
	if theirs != nil {
		for i := 0; i+7 <= len(bands); i += 7 {
			f.tell("level 3, octaves from 125 Hz to 8 kHz, ours − theirs", -inf, inf, "dB", bands[i:i+7])
		}
	}
}

// fluidsynth plays sequences on the program and sounds of Debian.
func fluidsynth(t *testing.T) player {
	const font = "/usr/share/sounds/sf2/FluidR3_GM.sf2"
	tool := sharedtest.Tool(t, "fluidsynth")
	dir := t.TempDir()
	return func(seq event.Sequence) []float32 {
		q := smf.Sequence{Division: 1000, Tempos: []smf.Tempo{{MicrosPerQuarter: 1000000}}}
		var track smf.Track
		ms := func(s float64) int64 { return int64(math.Round(s * 1000)) }
		for _, n := range seq.Notes {
			track.Notes = append(track.Notes, smf.Note{At: ms(n.Start), Length: max(ms(n.Start+n.Dur)-ms(n.Start), 1), Key: n.Key, Velocity: n.Velocity})
		}
		for _, p := range seq.Pedals {
			track.Controls = append(track.Controls, smf.Control{At: ms(p.Time), Number: smf.DamperPedal, Value: p.Value})
		}
		q.Tracks = []smf.Track{track}
		q.End = ms(seq.End)
		data, err := smf.Write(q)
		if err != nil {
			t.Fatal(err)
		}
		mid, wav := filepath.Join(dir, "a.mid"), filepath.Join(dir, "a.wav")
		if err := os.WriteFile(mid, data, 0o644); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command(tool, "-ni", "-r", "48000", "-O", "float", "-F", wav, font, mid).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		raw, err := exec.Command(sharedtest.Tool(t, "ffmpeg"), "-v", "error", "-i", wav, "-f", "f32le", "-ar", "48000", "-ac", "2", "-").Output()
		if err != nil {
			t.Fatal(err)
		}
		frames := make([]float32, len(raw)/4)
		for i := range frames {
			frames[i] = math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:]))
		}
		return frames
	}
}
