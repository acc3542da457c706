package abc

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/roadmap"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// sheets yields every tune of the shared ABC sheets.
func sheets(t testing.TB, yield func(data []byte, opt Options)) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(sharedtest.Path(t, "data/leadsheets"), "*", "*.abc"))
	if err != nil || len(files) < 80 {
		t.Fatalf("%d sheets, %v", len(files), err)
	}
	files = append(files, sharedtest.Path(t, "tunes/original.abc"), sharedtest.Path(t, "tunes/traditional.abc"))
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range Tunes(data) {
			yield(data, Options{File: filepath.Base(file), Tune: h.Number})
		}
	}
}

// TestCorpora reads every shared sheet: it must load, keep its laws, come back
// from Write, know every chord, and say so where it departs from the literal
// reading that the comparison with abc2midi uses.
func TestCorpora(t *testing.T) {
	n := 0
	sheets(t, func(data []byte, opt Options) {
		n++
		s, err := Read(data, opt)
		if err != nil {
			t.Errorf("%s: %v", opt.File, err)
			return
		}
		t.Run(opt.File, func(t *testing.T) {
			checkSong(t, s)
			again, err := Read(Write(s), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if d := sameMusic(s, again); d != "" {
				t.Errorf("reading and writing differ:\n%s", d)
			}
		})
		for _, c := range s.Chords {
			if c.Unknown {
				t.Errorf("%s: chord %q is not known", c.Pos, c.Text)
			}
		}
		literal, err := read(data, opt, true)
		if err != nil {
			t.Errorf("%s: %v", opt.File, err)
			return
		}
		departs := slices.ContainsFunc(s.Problems, func(p leadsheet.Problem) bool {
			return p.Code == "repeats-counted" || strings.HasPrefix(p.Code, "pickup-")
		})
		same := slices.EqualFunc(s.Melody, literal.Melody, func(a, b leadsheet.Note) bool {
			return a.At == b.At && a.Dur == b.Dur && a.Pitch == b.Pitch
		})
		if same == departs {
			t.Errorf("%s: as written %v, but told of departing %v", opt.File, same, departs)
		}
	})
	if n != 110 {
		t.Errorf("%d tunes were read, want 110", n)
	}
}

// The forms that the shared tunes state in their remarks are the ones found.
func TestForms(t *testing.T) {
	want := map[string]string{
		"Lantern on the Ninth Stair": "AABA", "Paper Harbour": "ABAC", "Thistle and Tin": "AABA", "Slow Ferry, Low Tide": "ABAC",
		"Au clair de la lune": "AABA", "Nos Galan": "AABA", "O Tannenbaum": "AABA",
	}
	sheets(t, func(data []byte, opt Options) {
		s, err := Read(data, opt)
		if err != nil {
			t.Error(err)
			return
		}
		if form, ok := want[s.Title]; ok && s.Form != form {
			t.Errorf("%s: form %q, want %q", s.Title, s.Form, form)
		}
		if s.Title == "Lantern on the Ninth Stair" {
			// The search alone, without the remark, finds the same.
			if f := roadmap.WithForm(s, nil); f.Form != "AABA" || f.Bars[1].Section != "A" || f.Bars[17].Section != "B" {
				t.Errorf("the search finds %q", f.Form)
			}
		}
	})
}
