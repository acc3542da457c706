package gradatim_test

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// sheets lists every lead sheet of the shared corpus (Foxley's Nottingham
// collection, Tuneworks, old-time tunes, OpenEWLD and derived keys; licences in
// its README).
func sheets(t testing.TB) []string {
	t.Helper()
	root := sharedtest.Path(t, "data/leadsheets")
	var out []string
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if ext := filepath.Ext(p); err == nil && !d.IsDir() && (ext == ".abc" || ext == ".mxl" || ext == ".xml" || ext == ".musicxml") {
			out = append(out, p)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	sort.Strings(out)
	if len(out) != 160 {
		t.Fatalf("%d sheets, want 160", len(out))
	}
	return out
}

func load(t testing.TB, path string) leadsheet.Song {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	song, err := gradatim.Read(filepath.Base(path), data, 0)
	if err != nil {
		t.Fatalf("%s: %v", filepath.Base(path), err)
	}
	return song
}

// TestCorpus arranges every sheet at every level: no page may fail its audit and
// every note of the tune must be there.
func TestCorpus(t *testing.T) {
	rests, cells := 0, 0
	codes := map[string]int{}
	for _, path := range sheets(t) {
		song := load(t, path)
		as, err := gradatim.Ladder(context.Background(), song, gradatim.Options{})
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(path), err)
			continue
		}
		for _, a := range as {
			if a.Failed {
				t.Errorf("%s, level %d: no page passed the audit:\n%v", filepath.Base(path), a.Level.Number, a.Problems.Err())
				continue
			}
			if got, want := tuneNotes(a.Score), len(song.Melody); got != want {
				t.Errorf("%s, level %d: %d notes of the tune, want %d", filepath.Base(path), a.Level.Number, got, want)
			}
			for _, p := range a.Problems {
				codes[fmt.Sprintf("level %d %s", a.Level.Number, p.Code)]++
				if p.Code == "left-hand-rests" {
					rests++
				}
			}
			cells += len(a.Score.Chords)
		}
	}
	var lines []string
	for c, n := range codes {
		lines = append(lines, fmt.Sprintf("%s: %d", c, n))
	}
	sort.Strings(lines)
	t.Logf("%d chords; told:\n%s", cells, strings.Join(lines, "\n"))
}

func tuneNotes(s score.Score) int {
	n := 0
	for _, x := range s.Notes {
		if _, ok := x.Origin.Event(); ok {
			n++
		}
	}
	return n
}
