package gradatim_test

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

// TestDescribeChords compares the notes with a table of chords that others spelled. Source:
// data/chords/spelled_chords.tsv, shorthands after Harte 2005.
func TestDescribeChords(t *testing.T) {
	data, err := os.ReadFile(sharedtest.Path(t, "data/chords/spelled_chords.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(data)), "\n")
	head := strings.Split(lines[0], "\t")
	root, short, notes := slices.Index(head, "root"), slices.Index(head, "shorthand"), slices.Index(head, "notes_spelled_by_degree")
	if root < 0 || short < 0 || notes < 0 {
		t.Fatal(head)
	}
	suffixes := map[string]string{"maj": "", "min": "m", "dim": "dim", "aug": "aug", "maj7": "maj7", "min7": "m7", "7": "7", "dim7": "dim7",
		"hdim7": "m7b5", "minmaj7": "m(maj7)", "maj6": "6", "min6": "m6", "9": "9", "maj9": "maj9", "min9": "m9", "sus4": "sus4", "sus2": "sus2"}
	seen := 0
	for _, line := range lines[1:] {
		f := strings.Split(line, "\t")
		suffix, ok := suffixes[f[short]]
		if !ok {
			continue
		}
		_, data, err := gradatim.DescribeChords(t.Context(), "", f[root]+suffix)
		var got struct {
			Chords []struct{ Notes []string }
		}
		if err != nil || json.Unmarshal(data, &got) != nil || len(got.Chords) != 1 {
			t.Fatalf("%s%s: %v", f[root], suffix, err)
		}
		if seen++; strings.Join(got.Chords[0].Notes, " ") != f[notes] {
			t.Errorf("%s%s: %v, the table has %s", f[root], suffix, got.Chords[0].Notes, f[notes])
		}
	}
	if seen < 300 {
		t.Errorf("only %d chords compared", seen)
	}
}

// FuzzDescribeChords: a symbol is described as theory reads it, or told with one that can be.
func FuzzDescribeChords(f *testing.F) {
	for _, s := range []string{"Bbm7b5", "G13(b9)/B", "N.C.", "Czz", "H7", "%", "", "D over C7", "(Em7)"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		text, _, err := gradatim.DescribeChords(t.Context(), "", s)
		sym, bad := theory.ParseSymbol(s)
		if (err != nil) != (bad != nil || sym.Repeat) {
			t.Fatalf("%q: %v, theory says %v", s, err, bad)
		}
		if err == nil && !strings.HasPrefix(text, sym.Chord.Pretty()+":") {
			t.Fatalf("%q: %s", s, text)
		}
	})
}
