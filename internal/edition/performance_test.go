package edition_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/musicxml"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
)

// What is heard of a page is one performance, whether it is made from the score
// that was arranged or from the file that was written of it: event by event, for
// every level of the examples.
func TestPageSoundsAsItWasArranged(t *testing.T) {
	for _, name := range []string{"ferry", "lantern", "harbour", "thistle"} {
		data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", name+".abc"))
		if err != nil {
			t.Fatal(err)
		}
		song, err := gradatim.Read(name+".abc", data, 0)
		if err != nil {
			t.Fatal(err)
		}
		as, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range as {
			page, err := musicxml.Write(a.Score)
			if err != nil {
				t.Fatal(err)
			}
			read, told, err := gradatim.ReadScore(name, page)
			if err != nil || len(told) > 0 {
				t.Fatal(err, told)
			}
			events := func(p perform.Performance, err error) (out []string) {
				if err != nil {
					t.Fatal(err)
				}
				for _, e := range p.Events() {
					out = append(out, e.String())
				}
				return out
			}
			want := events(perform.Perform(a.Score, perform.Options{}))
			got := events(perform.Perform(read, perform.Options{}))
			if slices.Equal(got, want) {
				continue
			}
			for i := range min(len(got), len(want)) {
				if got[i] != want[i] {
					t.Errorf("%s, level %d: event %d is %q, was %q", name, a.Level.Number, i, got[i], want[i])
					break
				}
			}
			t.Errorf("%s, level %d: %d events, were %d", name, a.Level.Number, len(got), len(want))
		}
	}
}
