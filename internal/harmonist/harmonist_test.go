package harmonist

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/theory"
)

func tune(t testing.TB, key, meter, music string) leadsheet.Song {
	t.Helper()
	s, err := abc.Read([]byte("X:1\nT:t\nM:"+meter+"\nL:1/4\nK:"+key+"\n"+music+"\n"), abc.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func line(h Harmony) string {
	var out []string
	for _, c := range h.Chords {
		out = append(out, fmt.Sprintf("%d:%s %s", c.Measure, c.Offset, c.Chord))
	}
	return strings.Join(out, ", ")
}

func ExampleOf() {
	song, err := abc.Read([]byte("X:1\nT:Twinkle\nM:4/4\nL:1/4\nK:C\nCCGG|AAG2|FFEE|DDC2|\n"), abc.Options{})
	if err != nil {
		panic(err)
	}
	h, _ := Of(song, Options{})
	for _, c := range h.Chords {
		fmt.Println(c.Measure, c.Offset, c.Chord, c.Holds)
	}
	// Output:
	// 0 0 C [C G]
	// 1 0 F [A]
	// 1 1/2 C [G]
	// 2 0 F [F]
	// 2 1/2 C [E]
	// 3 0 G7 [D]
	// 3 1/2 C [C]
}

// What any musician would write. Common practice, no source.
func TestPlain(t *testing.T) {
	for _, tt := range []struct{ key, meter, music, want string }{
		{"C", "4/4", "C2E2|F2A2|D4|C4|]", "C F G7 C"},
		{"C", "4/4", "E2G2|C2E2|B,2D2|C4|E2G2|C2E2|B,2D2|C4|]", "C C G7 C C C G7 C"},
		{"Am", "3/4", "A2c|e2c|B2^G|A3|A2c|e2c|B2^G|A3|]", "Am Am E7 Am Am Am E7 Am"},
		{"G", "3/4", "G2B|d2B|A2^F|G3|G2B|d2B|A2^F|G3|]", "G G D7 G G G D7 G"},
	} {
		s := tune(t, tt.key, tt.meter, tt.music)
		h, ok := Of(s, Options{})
		if !ok {
			t.Fatal(tt.music)
		}
		got := h.Song()
		var roots []string
		for _, b := range got.Bars {
			for i := len(got.Chords) - 1; i >= 0; i-- {
				if got.Chords[i].At <= b.At {
					roots = append(roots, got.Chords[i].Text)
					break
				}
			}
		}
		if line := strings.Join(roots, " "); line != tt.want {
			t.Errorf("%s: %s, want %s (%s)", tt.music, line, tt.want, h.Key)
		}
	}
}

func TestNothing(t *testing.T) {
	if _, ok := Of(leadsheet.Song{}, Options{}); ok {
		t.Error("a song without bars has chords")
	}
}

// On every shared sheet: the chords that are there change nothing; the tune moved to
// another key has the same chords there; bars with the same tune between the same
// neighbours have the same chords; the tune is not touched, and each chord has a reason.
func TestSheets(t *testing.T) {
	up := theory.Interval{Steps: 1, Semitones: 2}
	for _, x := range sheets(t) {
		if !sharedtest.Takes(x.name, 24, 4) {
			continue
		}
		o := Options{Group: x.group}
		h, ok := Of(x.bare, o)
		if !ok {
			t.Fatal(x.name)
		}
		printed := x.bare
		printed.Chords = x.h.page.song.Chords
		if again, _ := Of(printed, o); line(again) != line(h) {
			t.Errorf("%s: chords that are there change what is found", x.name)
		}
		moved, _ := Of(x.bare.Transpose(up), o)
		back := len(moved.Chords) == len(h.Chords)
		for i := range min(len(moved.Chords), len(h.Chords)) {
			back = back && moved.Chords[i].At == h.Chords[i].At && moved.Chords[i].Chord.Root.Class() == h.Chords[i].Chord.Transpose(up).Root.Class()
		}
		if !back {
			t.Errorf("%s: a whole step up: %s, not %s", x.name, line(moved), line(h))
		}
		song := h.Song()
		if fmt.Sprint(song.Melody) != fmt.Sprint(x.bare.Melody) {
			t.Errorf("%s: the tune was changed", x.name)
		}
		if len(h.Chords) < 2 || len(song.Chords) < len(h.Chords)/2 {
			t.Errorf("%s: %s", x.name, line(h))
		}
		for _, c := range h.Chords {
			if c.Chord.Silent() || len(c.Others) != 2 || c.Sure < 1 || c.Sure > 100 {
				t.Errorf("%s: %+v", x.name, c)
			}
		}
		for i := 0; i+1 < len(h.Beats); i++ {
			if h.Beats[i].End > h.Beats[i+1].At {
				t.Errorf("%s: beats overlap at %s", x.name, h.Beats[i].At)
			}
		}
	}
}

// TestRepeated: a strain that is written out again is harmonised as the first time.
func TestRepeated(t *testing.T) {
	const strain = "G2B|d2B|c2A|B3|E2G|F2A|G2B|A3|"
	const middle = "e2c|d2B|c2A|B3|e2c|d2B|A2A|D3|"
	s := tune(t, "G", "3/4", strain+middle+strain)
	h, _ := Of(s, Options{})
	at := func(bar int) string {
		var out []string
		for _, c := range h.Chords {
			if h.Page.BarAt(c.At) <= bar && h.Page.BarAt(c.End-1) >= bar {
				out = append(out, c.Chord.Triad().String())
			}
		}
		return strings.Join(out, " ")
	}
	for b := 0; b < 7; b++ { // the last bar ends the tune
		if a, c := at(b), at(b+16); a != c {
			t.Errorf("bar %d has %s, and when it returns %s", b+1, a, c)
		}
	}
}

// TestRhythm: a rhythm that is asked for changes how often chords change.
func TestRhythm(t *testing.T) {
	var n [rhythms + 1]int
	for _, x := range sheets(t) {
		if !sharedtest.Takes(x.name, 24, 8) {
			continue
		}
		for r := Found; r <= Quick; r++ {
			h, _ := Of(x.bare, Options{Group: x.group, Rhythm: r})
			n[r] += len(h.Chords)
		}
	}
	t.Log(n)
	if n[Slow] >= n[Usual] || n[Usual] >= n[Quick] || n[Found] <= n[Slow] || n[Found] >= n[Quick] {
		t.Errorf("chords with each rhythm: %v", n)
	}
}

func TestExp(t *testing.T) {
	for x := -39.0; x < 39; x += .37 {
		if got := exp(x); math.Abs(math.Log(got)-x) > 1.0/1000 {
			t.Errorf("exp %f is %g", x, got)
		}
	}
	if exp(-50) != 0 || exp(1000) != exp(40) {
		t.Error("the ends")
	}
}

// TestWeights: the table is read as it is written, and a damaged one is refused.
func TestWeights(t *testing.T) {
	if got := string(writeWeights(shipped())); got != weightsFile {
		t.Error("the weights are not written as they are read")
	}
	for _, bad := range []string{"", "nothing\t1\n", "tone\t1\t2\n", strings.Replace(weightsFile, "\t", "\tx", 1), weightsFile + "tone" + strings.Repeat("\t0", 12)} {
		if _, err := parseWeights(bad); err == nil {
			t.Errorf("%.20q is read", bad)
		}
	}
}

// TestPosterior compares forward and backward with all ways through a short tune.
func TestPosterior(t *testing.T) {
	s := tune(t, "C", "3/4", "CEG|F2A|")
	h := hear(s)
	h.regions[0].key = theory.KeyOf(0, theory.Major)
	h.settle()
	m := shipped()
	emit, move := m.emissions(&h, Songs), m.moves()
	h.slots = h.slots[:3]
	n := len(palettes[0])
	change := []float64{1, .5, 2}
	l := run(&h, emit[:3], move, change, nil)
	var by [3][64]float64
	sum := 0.0
	for a := range n {
		for b := range n {
			for c := range n {
				w := emit[0][a] * emit[1][b] * emit[2][c]
				for i, step := range [2][2]int{{a, b}, {b, c}} {
					if step[0] != step[1] {
						w *= change[i+1] * move[0][step[0]*n+step[1]]
					}
				}
				by[0][a] += w
				by[1][b] += w
				by[2][c] += w
				sum += w
			}
		}
	}
	for i := range 3 {
		for a, p := range l.posterior(i) {
			if math.Abs(p-by[i][a]/sum) > 1e-12 {
				t.Fatalf("slot %d, state %d: %g, of all ways %g", i, a, p, by[i][a]/sum)
			}
		}
	}
	if got := math.Ldexp(l.weight, l.power); math.Abs(got-sum) > 1e-9*sum {
		t.Errorf("all ways weigh %g, found %g", sum, got)
	}
}

// FuzzOf: whatever can be read, each chord lies in the tune, none overlap, the tune stays,
// and the answer is the same twice.
func FuzzOf(f *testing.F) {
	f.Add("X:1\nT:t\nM:4/4\nL:1/4\nK:C\nCCGG|AAG2|:FFEE:|[1DDC2:|[2C4|]\n")
	f.Add("X:1\nM:6/8\nK:D mix\nA3 d2e|=c3 A3|z6|(3ABc d4|\n")
	f.Add("X:1\nM:3/4\nK:Am\nE|A2c|K:A\nc3|e3-|e3|]\n")
	f.Fuzz(func(t *testing.T, text string) {
		song, err := abc.Read([]byte(text), abc.Options{})
		if err != nil || len(text) > 4000 {
			return
		}
		h, ok := Of(song, Options{})
		if !ok {
			return
		}
		if again, _ := Of(song, Options{}); line(again) != line(h) {
			t.Fatal("two answers")
		}
		end := theory.Dur(0)
		for _, c := range h.Chords {
			if c.At < end || c.End <= c.At || c.End > h.Page.End() || c.Chord.Silent() {
				t.Fatalf("%+v", c)
			}
			end = c.End
		}
		made := h.Song()
		if !slices.IsSortedFunc(made.Chords, func(a, b leadsheet.ChordMark) int { return int(a.At - b.At) }) || fmt.Sprint(made.Melody) != fmt.Sprint(song.Melody) {
			t.Fatal("the song is not what it was")
		}
	})
}

func BenchmarkOf(b *testing.B) {
	data, err := os.ReadFile(sharedtest.Root() + "/examples/lantern.abc")
	if err != nil {
		b.Fatal(err)
	}
	one, err := abc.Read(data, abc.Options{})
	if err != nil {
		b.Fatal(err)
	}
	for _, times := range []int{1, 16} {
		s := one
		s.Bars, s.Melody = nil, nil
		for k := range times {
			for _, x := range one.Bars {
				x.At += theory.Dur(k) * one.End()
				x.Page, x.Written = [2]int{}, len(s.Bars)
				s.Bars = append(s.Bars, x)
			}
			for _, n := range one.Melody {
				n.At += theory.Dur(k) * one.End()
				s.Melody = append(s.Melody, n)
			}
		}
		b.Run(fmt.Sprintf("bars=%d", 32*times), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Of(s, Options{})
			}
		})
	}
}
