package edition_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/ladder"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// longSong repeats a 32-bar tune until it has the given number of bars.
func longSong(b testing.TB, bars int) leadsheet.Song {
	b.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Path(b, "tunes"), "original.abc"))
	if err != nil {
		b.Fatal(err)
	}
	one, err := gradatim.Read("original.abc", data, 2)
	if err != nil {
		b.Fatal(err)
	}
	one.Form = ""
	return scoretest.Repeated(one, bars)
}

func BenchmarkLadder(b *testing.B) {
	for _, bars := range []int{32, 128, 512} {
		if testing.Short() && bars > 128 {
			continue
		}
		for _, set := range []struct {
			name   string
			levels []ladder.Level
		}{{"1-2", ladder.Levels()[:2]}, {"1-5", ladder.Levels()}} {
			b.Run(fmt.Sprintf("bars=%d/levels=%s", bars, set.name), func(b *testing.B) {
				song := longSong(b, bars)
				b.ReportAllocs()
				for b.Loop() {
					if _, err := edition.Make(context.Background(), song, edition.Options{Levels: set.levels}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
