package abc

import (
	"errors"
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	"gradatim/leadsheet"
)

// Bad input ends in a placed error or in a song, within two seconds and 256 MB.
// The clock here is a safety net, with slack for a busy machine.
func TestHostile(t *testing.T) {
	head := "X:1\nM:4/4\nL:1/8\nK:C\n"
	x := strings.Repeat
	for _, tt := range []struct{ name, in, code string }{
		{"nothing", "", "key-missing"},
		{"only a number", "X:1\n", "key-missing"},
		{"header without music", "X:1\nT:x\nK:C\n", "no-music"},
		{"cut inside the header", "X:1\nT:Half a he", "key-missing"},
		{"cut inside the music", head + `"C`, "no-music"},
		{"no ABC at all", "{\"json\": [1, 2, 3]}\n", "key-missing"},
		{"zero bytes", x("\x00", 100_000), "key-missing"},
		{"UTF-16", "\xff\xfeX\x00:\x001\x00", "charset-unknown"},
		{"rests only", head + "z8|z8|\n", "no-music"},
		{"free metre", "X:1\nM:none\nK:C\nABC|ABCDEFG|A|\n", ""},
		{"ten megabytes of brackets", head + x("[", 10<<20), "file-too-large"},
		{"four megabytes of brackets", head + x("[", MaxBytes-100), "too-long"},
		{"brackets and lines", head + x("[\n", MaxBytes/2-100), "too-long"},
		{"open chords", head + x("[C", MaxBytes/2-100), "too-long"},
		{"struck together", head + "[" + x("C", 1_000_000) + "]|\n", "too-long"},
		{"one endless bar", head + x("C", 2_000_000) + "|\n", "bar-too-long"},
		{"a million bars", head + x("C8|", 1_000_000), "too-long"},
		{"a million bars, one a line", head + x("C8|\n", 1_000_000), "too-long"},
		{"one endless bar line", head + x("|", 2_000_000), "no-music"},
		{"empty bars", head + x("| ", 2_000_000), "too-long"},
		{"bars of rest", head + "Z99999|C8|\n", "too-long"},
		{"bars of rest, many times", head + x("Z9000|", 100) + "C8|\n", "too-long"},
		{"repeats of three hundred times", head + "|" + x(":", 300) + "C8" + x(":", 300) + "|\n", "too-many-passes"},
		{"repeats that multiply", head + x("|::::::::::::::::::::C8|C8|C8|C8::::::::::::::::::::|", 1000), "too-long"},
		{"an order of parts that multiplies", "X:1\nP:((((A99)99)99)99)\nM:4/4\nK:C\nP:A\nC8|\n", "too-long"},
		{"an order of many bars", "X:1\nP:A9999\nM:4/4\nK:C\nP:A\n" + x("C8|", 1000) + "\n", "too-long"},
		{"a long order", "X:1\nP:" + x("A", 1_000_000) + "\nM:4/4\nK:C\nP:A\nC8|\n", "field-too-long"},
		{"deep brackets in the order", "X:1\nP:" + x("(", 9000) + "\nM:4/4\nK:C\nP:A\nC8|\n", ""},
		{"endings of every number", head + "|:C8|[1-9999999 D8:|\n", "too-many-passes"},
		{"endless length", head + "C99999|\n", "no-music"},
		{"length too long", head + "C9999|\n", "note-too-long"},
		{"length of many strokes", head + "C" + x("/", 1_000_000) + "|D8|\n", ""},
		{"octaves without end", head + "C" + x(",", 1_000_000) + "|\n", "pitch-range"},
		{"tuplets in tuplets", head + x("(9:7:9", 100_000) + "C8|\n", ""},
		{"odd tuplets", head + x("(7:5CDEFGAB (11:13CDEFGABcdef (63:61C/D/E/F/|", 200) + "\n", ""},
		{"grace notes without end", head + "{" + x("c", 500_000) + "}C8|\n", "too-long"},
		{"chord symbols without end", head + x(`"C"`, 400_000) + "C8|\n", ""},
		{"different unknown chords", head + manyChords(15_000), "too-long"},
		{"one long chord symbol", head + `"C` + x("7", 1_000_000) + `"C8|` + "\n", ""},
		{"ties without end", head + x("C8-|", 19_000) + "C8|\n", ""},
		{"words without end", head + x("C8|\nw:"+x("la ", 100)+"\n", 5000), ""},
		{"many tunes", x("X:1\n", 500_000), "too-many-tunes"},
		{"many fields", "X:1\n" + x("N:x\n", 500_000) + "M:4/4\nK:C\nC8|\n", ""},
		{"continued fields", "X:1\nT:x\n" + x("+:x\n", 500_000) + "M:4/4\nK:C\nC8|\n", ""},
		{"history without end", "X:1\nH:x\n" + x("x y z\n", 500_000) + "M:4/4\nK:C\nC8|\n", ""},
		{"comments without end", head + x("%\n", 1_500_000) + "C8|\n", ""},
		{"directives without end", head + x("%%a\n", 500_000) + "C8|\n", ""},
		{"different directives", head + manyDirectives(200_000) + "C8|\n", ""},
		{"unknown signs", head + x("#?;*", 100_000) + "C8|\n", ""},
		{"voices without end", head + manyVoices(200_000) + "C8|\n", "no-music"},
		{"labels without end", head + x("P:A\nC8|\n", 19_000), ""},
		{"metres without end", head + x("[M:3/4][M:4/4]", 100_000) + "C8|\n", ""},
		{"escapes without end", "X:1\nT:" + x(`\'e`, 3000) + "\nM:4/4\nK:C\nC8|\n", ""},
		{"ampersands", "X:1\nT:" + x(`&`, 9000) + "\nM:4/4\nK:C\nC8|\n", ""},
		{"double bars without end", head + x("C8||", 19_000) + " C8:|\n", "too-long"},
	} {
		if testing.Short() && len(tt.in) > 1<<19 {
			continue
		}
		t.Run(tt.name, func(t *testing.T) {
			in := []byte(tt.in)
			runtime.GC()
			done, peak := make(chan bool), make(chan uint64)
			go watch(done, peak)
			start := time.Now()
			s, err := Read(in, Options{File: "bad.abc"})
			took := time.Since(start)
			done <- true
			mb := <-peak >> 20
			if took > 20*time.Second || mb > 256 {
				t.Errorf("took %v and %d MB", took, mb)
			}
			t.Logf("%v, %d MB", took.Round(time.Millisecond), mb)
			var ps leadsheet.Problems
			switch {
			case err == nil && tt.code != "":
				t.Errorf("read as %d bars, want %s\n%v", len(s.Bars), tt.code, s.Problems)
			case err != nil && !errors.As(err, &ps):
				t.Errorf("the error is %T", err)
			case err != nil:
				var first leadsheet.Problem
				for _, p := range ps {
					if p.Severity == leadsheet.Error {
						first = p
						break
					}
				}
				if first.Code != tt.code || first.Pos.File != "bad.abc" || first.Pos.Line == 0 {
					t.Errorf("%v, want %s", first, tt.code)
				}
			}
		})
	}
}

// watch samples the heap until it is told to stop and reports the highest use.
func watch(done <-chan bool, peak chan<- uint64) {
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	var most uint64
	for stop := false; !stop; {
		select {
		case <-done:
			stop = true
		case <-tick.C:
		}
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		most = max(most, m.HeapInuse)
	}
	peak <- most
}

func manyChords(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `"Cx%d"C8|`, i)
	}
	return b.String() + "\n"
}

func manyDirectives(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%%%%d%d\n", i)
	}
	return b.String()
}

func manyVoices(n int) string {
	var b strings.Builder
	b.WriteString("V:a\n")
	for i := range n {
		fmt.Fprintf(&b, "[V:%d]C", i)
	}
	return b.String() + "\n"
}

// A sheet cut anywhere never does worse than an error.
func TestTruncated(t *testing.T) {
	for _, tt := range melodies {
		in := plainHead + tt.music
		for i := range in {
			roundTrip(t, []byte(in[:i]))
		}
	}
}
