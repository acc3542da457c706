package edition_test

import (
	"context"
	"path/filepath"
	"reflect"
	"testing"

	"gradatim/internal/arrange"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
)

// TestWithDensity holds that a plan made from another is the plan that would have
// been made from nothing: what it takes over is what it would have found.
func TestWithDensity(t *testing.T) {
	ctx := context.Background()
	page := func(pl arrange.Plan, err error) arrange.Arrangement {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		a, err := pl.Page(ctx, nil)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	notes, chords := 0, 0 // pages on which the density changes them
	for _, name := range originals {
		song := load(t, filepath.Join("examples", name+".abc"))
		an := harmony.Analyse(song)
		for _, l := range ladder.Levels() {
			opt := arrange.Options{Level: l}
			plan, err := arrange.Prepare(ctx, song, an, opt)
			before := page(plan, err)
			for _, n := range []int{-12, -1, 1, 5, 12} {
				opt.Density = n
				got, want := page(plan.WithDensity(ctx, n)), page(arrange.Prepare(ctx, song, an, opt))
				if !reflect.DeepEqual(got, want) {
					t.Errorf("%s, level %d, density %d: another page than from nothing", name, l.Number, n)
				}
				if !reflect.DeepEqual(got.Score.Notes, before.Score.Notes) {
					notes++
				}
				if !reflect.DeepEqual(got.Score.Chords, before.Score.Chords) {
					chords++
				}
			}
			if again := page(plan, nil); !reflect.DeepEqual(again, before) {
				t.Errorf("%s, level %d: a plan is changed by making others from it", name, l.Number)
			}
		}
	}
	if notes == 0 || chords == 0 {
		t.Errorf("the density changes the notes of %d pages and the chords of %d: too few to test with", notes, chords)
	}
}
