// Package ladders arranges lead sheets for tests, at every level.
package ladders

import (
	"context"
	"iter"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/leadsheet"
)

// Read reads the sheet in a file.
func Read(path string) (leadsheet.Song, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return leadsheet.Song{}, err
	}
	return gradatim.Read(filepath.Base(path), data, 0)
}

// Each yields the name of each file and its sheet's pages, in the order of the paths, while
// the next are made on all processors. A sheet that cannot be arranged is an error of the
// test.
func Each(t testing.TB, paths []string) iter.Seq2[string, []edition.Page] {
	type ladder struct {
		pages []edition.Page
		err   error
	}
	return func(yield func(string, []edition.Page) bool) {
		made := make([]chan ladder, len(paths))
		start := func(i int) {
			if i >= len(paths) {
				return
			}
			made[i] = make(chan ladder, 1)
			go func() {
				song, err := Read(paths[i])
				var l ladder
				if l.err = err; err == nil {
					l.pages, l.err = edition.Make(context.Background(), song, edition.Options{})
				}
				made[i] <- l
			}()
		}
		ahead := runtime.GOMAXPROCS(0)
		for i := range ahead {
			start(i)
		}
		for i, path := range paths {
			l := <-made[i]
			start(i + ahead)
			if l.err != nil {
				t.Errorf("%s: %v", filepath.Base(path), l.err)
			} else if !yield(filepath.Base(path), l.pages) {
				return
			}
		}
	}
}
