package edition_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/idiom"
	"gradatim/internal/technique"
	"gradatim/score"
)

var update = flag.Bool("update", false, "write the goldens anew")

// originals are the four tunes written for this project.
var originals = []string{"lantern", "harbour", "thistle", "ferry"}

// golden compares with a file, or writes it.
func golden(t *testing.T, file, got string) {
	t.Helper()
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	old, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(old) {
		t.Errorf("%s has changed; read the difference, then go test ./internal/edition -run TestGolden -update", file)
	}
}

// TestGolden holds the pages of the four original tunes at all levels, as text
// to be read as a diff; and level 2's with an introduction and a tag.
func TestGolden(t *testing.T) {
	want := map[string]bool{}
	for _, name := range originals {
		song := load(t, filepath.Join("examples", name+".abc"))
		as, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range as {
			file := filepath.Join("testdata", "pages", fmt.Sprintf("%s.%d.txt", name, a.Level.Number))
			want[file] = true
			got := score.Text(hand.Print(a.Score, hand.None)) + "\n" + usedText(a)
			golden(t, file, got)
		}
	}
	for _, name := range originals { // with what is asked for around the tune
		pages, err := edition.Make(context.Background(), load(t, filepath.Join("examples", name+".abc")), edition.Options{Introduction: idiom.ShortLength, Ending: idiom.ShortLength})
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range pages[1:2] {
			file := filepath.Join("testdata", "pages", fmt.Sprintf("%s.%d.framed.txt", name, a.Level.Number))
			want[file] = true
			golden(t, file, score.Text(hand.Print(a.Score, hand.None))+"\n"+usedText(a))
		}
	}
	files, err := filepath.Glob(filepath.Join("testdata", "pages", "*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !want[f] {
			t.Errorf("%s belongs to no tune", f)
		}
	}
}

func usedText(a edition.Page) string {
	out := ""
	for _, u := range a.Used {
		out += fmt.Sprintf("%s: bars %v\n", u.Technique, u.Bars)
	}
	return out
}

// TestDefiningTechniques holds that what a level is there to teach is used, at
// least twice in 16 bars, in each of the original tunes that gives it room, where
// the tune walks through the manners of the levels. Tenths are rolled where a phrase
// begins, and runs lead from section to section or to the climax: these are there once.
func TestDefiningTechniques(t *testing.T) {
	any := func(ids ...string) []string { return ids }
	for _, tt := range []struct {
		tune, level int
		what        string
		ids         []string
		once        bool
	}{
		{0, 1, "broken triads", any("broken-triad"), false},
		{0, 2, "added notes", any("added-notes", "common-tone-pad"), false},
		{0, 2, "syncopation", any("anticipation"), false},
		{0, 3, "sevenths, extensions, alterations", any("seventh-chords", "extensions", "alterations"), false},
		{0, 3, "shells, guide tones or rootless chords", any("shells", "root-then-guides", "comping"), false},
		{0, 4, "passing chords", any("half-step-above", "tritone-substitution", "secondary-dominant", "inserted-dominant", "passing-diminished", "leading-diminished"), false},
		{0, 4, "walking bass", any("walking-bass", "ghost-notes"), false},
		{0, 4, "ghost notes", any("ghost-notes"), false},
		{0, 4, "ornaments", any("turn", "mordent", "slide", "crush", "enclosure", "chord-fill"), false},
		{0, 5, "stride", any("stride", "stride-tenths"), false},
		{0, 5, "tenths", any("stride-tenths"), true},
		{0, 5, "clusters", any("clusters"), false},
		{0, 5, "runs", any("run"), true},
		{1, 4, "walking bass in three", any("walking-bass"), false},
		{2, 5, "stride", any("stride", "stride-tenths"), false},
		{3, 4, "walking in compound time", any("walking-bass"), false},
		{3, 5, "stride in compound time", any("stride", "stride-tenths"), false},
	} {
		song := load(t, filepath.Join("examples", originals[tt.tune]+".abc"))
		as, err := edition.Make(context.Background(), song, edition.Options{Manner: idiom.Walk})
		if err != nil {
			t.Fatal(err)
		}
		a := as[tt.level-1]
		bars := map[int]bool{}
		for _, u := range a.Used {
			for _, id := range tt.ids {
				if _, ok := technique.ByID(id); !ok {
					t.Fatalf("no technique %q", id)
				}
				if u.Technique == id {
					for _, b := range u.Bars {
						bars[b] = true
					}
				}
			}
		}
		first, last, _ := a.Score.OfTune()
		need := (last - first + 1) / 8
		if tt.once {
			need = 1
		}
		if len(bars) < need {
			t.Errorf("%s, level %d: %s in %d bars, want at least %d", song.Title, tt.level, tt.what, len(bars), need)
		}
	}
}
