package abc

import (
	"errors"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
)

var update = flag.Bool("update", false, "write the golden files anew")

// account is what the goldens hold: the song as text, its Problems, and what
// Write makes of it.
func account(data []byte, opt Options) string {
	s, err := Read(data, opt)
	var b strings.Builder
	ps := s.Problems
	if err != nil {
		errors.As(err, &ps)
	} else {
		b.WriteString(s.Text())
	}
	b.WriteString("\n")
	for _, p := range words.Must("en").Problems(ps) {
		b.WriteString(p.String() + "\n")
	}
	if err == nil {
		b.WriteString("\n")
		b.Write(Write(s))
	}
	return b.String()
}

func TestGolden(t *testing.T) {
	files, err := filepath.Glob("testdata/*.abc")
	if err != nil || len(files) == 0 {
		t.Fatal("no test data", err)
	}
	want := map[string]bool{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		golden := strings.TrimSuffix(file, ".abc") + ".txt"
		want[golden] = true
		var got string
		for _, h := range Tunes(data) {
			got += account(data, Options{File: filepath.Base(file), Tune: h.Number})
		}
		if *update {
			if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		old, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(old) {
			t.Errorf("%s has changed (go test -update writes it anew):\n%s", golden, got)
		}
	}
	goldens, err := filepath.Glob("testdata/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range goldens {
		if !want[g] {
			t.Errorf("%s belongs to no sheet", g)
		}
	}
}

// sameMusic compares bars, melody and chords, not what ABC cannot hold.
func sameMusic(a, b leadsheet.Song) string {
	strip := func(s leadsheet.Song) string {
		s.Notes, s.Rights, s.Rhythm, s.Feel, s.Title = nil, leadsheet.Rights{}, "", 0, ""
		s.KeyDeclared, s.MeterDeclared, s.Tempo = true, true, leadsheet.Tempo{}
		s.Chords = slices.Clone(s.Chords)
		for i := range s.Chords {
			if !s.Chords[i].Unknown {
				s.Chords[i].Text = ""
			}
		}
		return s.Text()
	}
	x, y := strings.Split(strip(a), "\n"), strings.Split(strip(b), "\n")
	for i := range x {
		if i >= len(y) || x[i] != y[i] {
			return x[i] + "\n" + strings.Join(y[min(i, len(y)):min(i+1, len(y))], "")
		}
	}
	return ""
}

// TestGermanFaults reads a sheet with many faults in German: what a reader of the
// language would have to read over.
func TestGermanFaults(t *testing.T) {
	data, err := os.ReadFile("testdata/faults.abc")
	if err != nil {
		t.Fatal(err)
	}
	s, err := Read(data, Options{File: "faults.abc"})
	if err != nil {
		t.Fatal(err)
	}
	codes := map[string]bool{}
	var got string
	w := words.Must("de")
	for _, p := range s.Problems {
		codes[p.Code] = true
		got += w.Line(p) + "\n"
	}
	if len(codes) < 20 {
		t.Errorf("only %d different faults", len(codes))
	}
	const golden = "testdata/faults.de.golden"
	if *update {
		if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
