package engrave_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/engrave"
	"gradatim/internal/musicxml"
)

// The examples at every level, as they are arranged now: nothing collides.
func TestLadders(t *testing.T) {
	if testing.Short() {
		t.Skip("arranges four tunes at five levels")
	}
	files, err := filepath.Glob("../../examples/*.abc")
	if err != nil || len(files) < 4 {
		t.Fatalf("%d tunes (%v)", len(files), err)
	}
	g := engrave.Shared(t)
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		song, err := gradatim.Read(filepath.Base(f), data, 0)
		if err != nil {
			t.Fatal(err)
		}
		as, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range as {
			if a.Failed {
				t.Errorf("%s: level %d has no page", filepath.Base(f), i+1)
				continue
			}
			score, err := musicxml.Write(a.Score)
			if err != nil {
				t.Fatal(err)
			}
			for name, l := range map[string]engrave.Layout{"A4": {}, "tablet, degrees": {Paper: engrave.Tablet, Degrees: true}} {
				d, err := g.Pages(context.Background(), score, l)
				if err != nil {
					t.Fatal(err)
				}
				for _, c := range d.Collisions() {
					t.Errorf("%s, level %d, %s: %s", filepath.Base(f), i+1, name, c)
				}
			}
		}
	}
}
