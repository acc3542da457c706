package studio_test

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/pack"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sound/codec"
	"gradatim/internal/studio"
)

// BenchmarkRecordings makes the MP3 files that a lesson of five levels carries:
// of each the whole, each hand alone and all but the tune, with a bar of count-in.
func BenchmarkRecordings(b *testing.B) {
	if testing.Short() {
		b.Skip("makes twenty recordings")
	}
	r, err := studio.NewRecorder()
	if err != nil {
		sharedtest.Absent(b, err.Error())
	}
	r = r.At(pack.Kbps)
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", "lantern.abc"))
	if err != nil {
		b.Fatal(err)
	}
	song, err := gradatim.Read("lantern.abc", data, 0)
	if err != nil {
		b.Fatal(err)
	}
	ladder, err := edition.Make(context.Background(), song, edition.Options{})
	if err != nil {
		b.Fatal(err)
	}
	var takes []perform.Take
	for _, t := range perform.PracticeSet() {
		if t.Options.Tempo == (perform.Tempo{}) {
			takes = append(takes, t)
		}
	}
	b.Run(fmt.Sprintf("bars=32/files=%d", len(ladder)*len(takes)), func(b *testing.B) {
		for b.Loop() {
			for _, a := range ladder {
				for _, t := range takes {
					o := t.Options
					o.CountIn = pack.CountIn
					if _, err := r.Record(context.Background(), io.Discard, a.Score, perform.Take{What: t.What, Options: o}, codec.MP3, func(float64) {}); err != nil {
						b.Fatal(err)
					}
				}
			}
		}
	})
}
