package gradatim_test

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// sharedSheets reads the names of the shared lead sheets.
func sharedSheets(t testing.TB) []gradatim.File {
	dir := sharedtest.Path(t, "data/leadsheets")
	var out []gradatim.File
	for _, pattern := range []string{"*/*.abc", "*/*.mxl"} {
		names, err := filepath.Glob(filepath.Join(dir, pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range names {
			data, err := os.ReadFile(n)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, gradatim.File{Name: filepath.Base(n), Data: data})
		}
	}
	return out
}

func sounds(s leadsheet.Song) []leadsheet.Note {
	out := slices.Clone(s.Melody)
	for i := range out {
		out[i].Pos, out[i].Graces = leadsheet.Pos{}, nil
	}
	return out
}

// TestHarmonizeSheets gives the shared sheets new chords, in both formats: the tune is
// played as before, the chords read back as they were found, and those that were there
// make no difference.
func TestHarmonizeSheets(t *testing.T) {
	anew, all := 0, 0
	for _, f := range sharedSheets(t) {
		if !sharedtest.Takes(f.Name, 16, 3) {
			continue
		}
		before, err := gradatim.Read(f.Name, f.Data, 0)
		if err != nil {
			t.Fatal(f.Name, err)
		}
		for _, format := range []gradatim.SheetFormat{gradatim.SheetABC, gradatim.SheetMusicXML} {
			o := gradatim.HarmonizeOptions{Replace: true, Format: format}
			h, err := gradatim.Harmonize(t.Context(), f, o)
			if err != nil {
				t.Fatal(f.Name, err)
			}
			after, err := gradatim.Read(f.Name, h.Sheet, 0)
			if err != nil {
				t.Fatalf("%s as format %d: %v\n%s", f.Name, format, err, h.Sheet)
			}
			own := strings.HasSuffix(f.Name, ".abc") == (format == gradatim.SheetABC)
			if !slices.EqualFunc(sounds(before), sounds(after), func(a, b leadsheet.Note) bool {
				return a.At == b.At && a.Dur == b.Dur && a.Pitch == b.Pitch
			}) {
				t.Errorf("%s as format %d: the tune is not the same", f.Name, format)
			}
			if own {
				all++
				if slices.ContainsFunc(h.Problems, func(p leadsheet.Problem) bool { return p.Code == "sheet-rewritten" }) {
					t.Logf("%s is written anew", f.Name)
					anew++
				}
				if written := slices.ContainsFunc(h.Problems, func(p leadsheet.Problem) bool { return p.Code == "sheet-rewritten" }); written {
					continue
				}
				again, err := gradatim.Harmonize(t.Context(), gradatim.File{Name: f.Name, Data: h.Sheet}, o)
				if err != nil || again.Text != h.Text || !bytes.Equal(again.Sheet, h.Sheet) {
					t.Errorf("%s as format %d: harmonised again: %v\n%s", f.Name, format, err, again.Text)
				}
			}
			after.Chords = slices.CompactFunc(after.Chords, func(a, b leadsheet.ChordMark) bool { return a.Chord == b.Chord })
			if !slices.EqualFunc(h.Song.Chords, after.Chords, func(a, b leadsheet.ChordMark) bool { return a.At == b.At && a.Chord == b.Chord }) {
				var x, y []string
				for _, c := range h.Song.Chords {
					x = append(x, h.Song.PosAt(c.At).String()+" "+c.Text)
				}
				for _, c := range after.Chords {
					y = append(y, after.PosAt(c.At).String()+" "+c.Text)
				}
				for i := range min(len(x), len(y)) {
					if x[i] != y[i] {
						t.Errorf("%s as format %d: %s is read as %s", f.Name, format, x[i], y[i])
						break
					}
				}
				if len(x) != len(y) {
					t.Errorf("%s as format %d: %d chords, %d read", f.Name, format, len(x), len(y))
				}
			}
		}
	}
	t.Logf("%d of %d sheets written anew", anew, all)
	if 10*anew > all {
		t.Errorf("%d of %d sheets could not keep their own text", anew, all)
	}
}

func TestHarmonizeRefuses(t *testing.T) {
	sheet := gradatim.File{Name: "a.abc", Data: []byte("X:1\nL:1/4\nM:4/4\nK:C\n\"C\"CDEF|G4|\n")}
	if _, err := gradatim.Harmonize(t.Context(), sheet, gradatim.HarmonizeOptions{}); err == nil || !strings.Contains(err.Error(), "chords-present") {
		t.Error(err)
	}
	if _, err := gradatim.ParseChordRhythm("brisk"); err == nil {
		t.Error("brisk is a rhythm")
	}
	if r, err := gradatim.ParseChordRhythm("slow"); err != nil || r.String() != "slow" {
		t.Error(r, err)
	}
}

// FuzzHarmonize: of whatever can be read, the sheet with chords is played as before.
func FuzzHarmonize(f *testing.F) {
	for _, s := range []string{
		"X:1\nT:t\nM:4/4\nL:1/4\nK:C\n\"C\"CCGG|\"^slow\"AAG2|:FFEE:|[1DDC2:|[2C4|]\n",
		"X:1\nM:6/8\nL:1/8\nK:D mix\nP:AAB\nP:A\n{g}A3 (3def|[Ac]6-|A6|\nP:B\nz6|e12|]\n",
		"%abc\r\nX:3\r\nL:1/4\r\nM:3/4\r\nK:Am\r\nE|A>Bc % words\r\nd3-|d3|]\r\n",
		"<score-partwise><part-list><score-part id='P'/></part-list><part id='P'><measure number='1'><attributes><divisions>2</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>" +
			"<harmony><root><root-step>C</root-step></root><kind>major</kind></harmony><note><pitch><step>C</step><octave>4</octave></pitch><duration>8</duration></note></measure></part></score-partwise>",
	} {
		f.Add(s, true)
		f.Add(s, false)
	}
	f.Fuzz(func(t *testing.T, text string, abc bool) {
		if len(text) > 6000 {
			return
		}
		before, err := gradatim.Read("f", []byte(text), 0)
		if err != nil {
			return
		}
		o := gradatim.HarmonizeOptions{Replace: true, Format: gradatim.SheetMusicXML}
		if abc {
			o.Format = gradatim.SheetABC
		}
		h, err := gradatim.Harmonize(t.Context(), gradatim.File{Name: "f", Data: []byte(text)}, o)
		if err != nil {
			return
		}
		after, err := gradatim.Read("f", h.Sheet, 0)
		if err != nil {
			t.Fatalf("%v\n%s", err, h.Sheet)
		}
		if !slices.EqualFunc(before.Melody, after.Melody, func(a, b leadsheet.Note) bool {
			return a.At == b.At && a.Dur == b.Dur && a.Pitch == b.Pitch
		}) {
			t.Fatalf("the tune is not the same:\n%s", h.Sheet)
		}
	})
}
