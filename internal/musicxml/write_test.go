package musicxml

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/notate"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

var updateWritten = flag.Bool("update-written", false, "write the written golden files anew")

// pages returns the golden scores of the notation: every feature is on one of
// them.
func pages(t testing.TB) map[string]score.Score {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(sharedtest.Root(), "internal", "notate", "testdata", "*.score"))
	if err != nil || len(files) < 5 {
		t.Fatal("no scores", err)
	}
	out := map[string]score.Score{}
	for _, f := range files {
		src, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		s, err := scoretest.Parse(string(src))
		if err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		out[strings.TrimSuffix(filepath.Base(f), ".score")] = s
	}
	return out
}

// syllables are what its notes have: a word of two, one that is held, and a second verse
// that ends earlier.
var syllables = [][]leadsheet.Syllable{
	{{Verse: 1, Text: "la", Hyphen: true}, {Verse: 2, Text: "so"}},
	{{Verse: 1, Text: "lo"}, {Verse: 2, Text: "la"}},
	{{Verse: 1, Held: true}},
	{{Verse: 1, Text: "lu"}},
}

// sheet is a small lead sheet of our own.
func sheet() leadsheet.Song {
	s := leadsheet.Song{Title: "Two Bars & a Pick-up", Rhythm: "swing", Feel: leadsheet.Swing,
		Key: theory.KeyOf(-2, theory.Major), Meter: leadsheet.Meter{Beats: 4, Unit: 4, Symbol: "C"},
		Tempo:  leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 132, Words: "Medium"},
		Rights: leadsheet.Rights{Composers: []leadsheet.Person{{Name: "A. Nobody"}, {Name: "B. Nobody"}}, Text: "Free to use"}}
	s.Words = []string{"2. Another verse", "of two lines", "", "3. and one of one"}
	at := theory.Dur(0)
	for i, d := range []theory.Dur{theory.Quarter, theory.Whole, theory.Whole} {
		s.Bars = append(s.Bars, leadsheet.Bar{At: at, Dur: d, Meter: s.Meter, Key: s.Key, Number: i, Pickup: i == 0})
		at += d
	}
	s.Bars[1].Section = "A"
	for i, p := range []string{"F4", "Bb4", "D5", "C5"} {
		pitch, _ := theory.ParsePitch(p)
		d := []theory.Dur{theory.Quarter, theory.Half, theory.Half, theory.Whole}[i]
		n := leadsheet.Note{At: s.Bars[0].Dur * theory.Dur(max(0, 2*i-1)), Dur: d, Pitch: pitch, Sung: syllables[i]}
		if i == 3 {
			n.At = s.Bars[2].At
			grace, _ := theory.ParsePitch("B4")
			n.Graces = []theory.Pitch{grace}
		}
		s.Melody = append(s.Melody, n)
	}
	for i, text := range []string{"Bb6/9", "F7b9/A", "N.C.", "(Cm7)", "D over C7", "Xyz"} {
		m := leadsheet.ChordMark{At: theory.Quarter + theory.Dur(i)*theory.Quarter*4/3, Text: text}
		switch sym, err := theory.ParseSymbol(text); {
		case err != nil:
			m.Unknown = true
		default:
			m.Chord, m.Optional = sym.Chord, sym.Optional
		}
		s.Chords = append(s.Chords, m)
	}
	return s
}

// TestWriteGolden keeps one whole file in view. Goldens of the notation itself
// stand in internal/notate, as text.
func TestWriteGolden(t *testing.T) {
	small, err := Write(scoretest.MustParse(`title Small <"Thing">
level 2
staff 75
key F
meter 3/4
pickup 1/4
tempo 96
straight
R1 C5:1/4*f1-3 <F4+A4>:3/8 B4:1/8*ghost C5:1/4
L1 r:1/4 F3:3/4*f5
chord 1/4 F
`))
	if err != nil {
		t.Fatal(err)
	}
	song, err := WriteSong(sheet())
	if err != nil {
		t.Fatal(err)
	}
	for name, got := range map[string][]byte{"small": small, "sheet": song} {
		golden := filepath.Join("testdata", "written", name+".musicxml")
		if *updateWritten {
			if err := os.MkdirAll(filepath.Dir(golden), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(golden, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s: got\n%s", golden, got)
		}
	}
}

// schema returns a copy of the MusicXML 4.0 schema (W3C Community Group final
// report) whose two imports are local.
func schema(t *testing.T) string {
	t.Helper()
	from, to := sharedtest.Path(t, "data/musicxml/schema"), t.TempDir()
	for _, name := range []string{"musicxml.xsd", "xlink.xsd", "xml.xsd"} {
		b, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			t.Fatal(err)
		}
		b = bytes.ReplaceAll(b, []byte(`schemaLocation="http://www.musicxml.org/xsd/`), []byte(`schemaLocation="`))
		if err := os.WriteFile(filepath.Join(to, name), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(to, "musicxml.xsd")
}

// TestSchema validates what we write with xmllint (Debian libxml2-utils) against
// the XSD of MusicXML 4.0.
func TestSchema(t *testing.T) {
	tool := sharedtest.Tool(t, "xmllint")
	dir := t.TempDir()
	args := []string{"--noout", "--nonet", "--schema", schema(t)}
	add := func(name string, data []byte, err error) {
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		file := filepath.Join(dir, name+".musicxml")
		if err := os.WriteFile(file, data, 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, file)
	}
	for name, s := range pages(t) {
		data, err := Write(s)
		add(name, data, err)
	}
	data, err := WriteSong(sheet())
	add("sheet", data, err)
	for seed := range uint64(80) {
		data, err := Write(scoretest.Random(rand.New(rand.NewPCG(seed, 3))))
		add(fmt.Sprintf("random%d", seed), data, err)
	}
	if out, err := exec.Command(tool, args...).CombinedOutput(); err != nil {
		var bad []string
		for _, l := range strings.Split(string(out), "\n") {
			if !strings.HasSuffix(l, " validates") {
				bad = append(bad, l)
			}
		}
		t.Errorf("%v\n%s", err, strings.Join(bad, "\n"))
	}
}

// FuzzWrite: whatever is written is well-formed XML, twice the same, and has an
// id on every note and measure, all different.
func FuzzWrite(f *testing.F) {
	for seed := range uint64(10) {
		b := make([]byte, 150)
		r := rand.New(rand.NewPCG(seed, 9))
		for i := range b {
			b[i] = byte(r.UintN(256))
		}
		f.Add(b, "Title ♭ & <x>")
	}
	f.Fuzz(func(t *testing.T, data []byte, title string) {
		s := scoretest.Wild(data)
		s.Title, s.Rights = title, title
		out, err := Write(s)
		if err != nil {
			return
		}
		if again, _ := Write(s); !bytes.Equal(out, again) {
			t.Fatal("other bytes the second time")
		}
		ids := map[string]bool{}
		d := xml.NewDecoder(bytes.NewReader(out))
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			if e, ok := tok.(xml.StartElement); ok && (e.Name.Local == "note" || e.Name.Local == "measure") {
				id := markup.Attr(e, "id")
				if id == "" || ids[id] {
					t.Fatalf("%s with id %q", e.Name.Local, id)
				}
				ids[id] = true
			}
		}
	})
}

func TestWriteRefuses(t *testing.T) {
	s := scoretest.MustParse("R1 C4:1/4")
	for name, spoil := range map[string]func(s *score.Score){
		"score-empty":   func(s *score.Score) { s.Bars = nil },
		"meter-invalid": func(s *score.Score) { s.Bars[0].Meter.Unit = 3 },
		"bar-length":    func(s *score.Score) { s.Bars[0].Dur = 1 },
		"bar-place":     func(s *score.Score) { s.Bars[0].At = 5 },
		"key-invalid":   func(s *score.Score) { s.Bars[0].Key = theory.Key{} },
	} {
		c := s
		c.Bars = append([]score.Bar(nil), s.Bars...)
		spoil(&c)
		if out, err := Write(c); err == nil || !strings.Contains(err.Error(), name) || out != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Every sign that a page can have is written; one that is not known would panic.
func TestEverySign(t *testing.T) {
	for k := notate.SignRehearsal; k <= notate.SignWords; k++ {
		w := &scoreWriter{page: notate.Page{Staves: 2}, unit: theory.Quarter}
		w.src.Chords = []score.Symbol{{Text: "?"}}
		w.src.Tempo.Words = "Slowly"
		w.sign(notate.Sign{Kind: k, Staff: score.Right, Text: "x"}, 0)
		if w.b.Len() == 0 {
			t.Errorf("sign %d writes nothing", k)
		}
	}
}

func ExampleWrite() {
	s := score.Score{
		Title: "One note",
		Bars:  []score.Bar{{Dur: theory.Whole, Meter: leadsheet.Meter{Beats: 4, Unit: 4}, Key: theory.KeyOf(0, theory.Major), Number: 1}},
		Notes: []score.Note{{Hand: score.Right, Voice: 1, Dur: theory.Whole, Pitch: theory.Name{Letter: theory.C}.At(5)}},
	}
	out, err := Write(s)
	fmt.Println(bytes.Contains(out, []byte(`<note id="b1-r0">`)), err)
	// Output: true <nil>
}

func BenchmarkWrite(b *testing.B) {
	for _, bars := range []int{32, 128, 512} {
		s := scoretest.Steady(bars)
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Write(s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
