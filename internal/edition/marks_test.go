package edition_test

import (
	"context"
	"flag"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"gradatim/internal/ear"
	"gradatim/internal/edition"
)

var marks = flag.String("marks", "", "print every mark of this count (or all), with level and place")

// TestCorpusMarks counts what a teacher would mark on the pages of the corpus, in each
// sheet's own key for the default hand, and prints the counts as a table
// (docs/corpus.md keeps one):
//
//	go test -run TestCorpusMarks -v ./internal/edition
//	go test -run TestCorpusMarks -v ./internal/edition -marks bass-ninth:4
//
// In short mode every sixteenth sheet is heard.
func TestCorpusMarks(t *testing.T) {
	paths := sheets(t)
	if testing.Short() {
		some := paths[:0:0]
		for i := 0; i < len(paths); i += 16 {
			some = append(some, paths[i])
		}
		paths = some
	}
	heard := make([][5]ear.Heard, len(paths))
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				as, err := edition.Make(context.Background(), load(t, paths[i]), edition.Options{})
				if err != nil {
					t.Errorf("%s: %v", filepath.Base(paths[i]), err)
					continue
				}
				for k, a := range as {
					if !a.Failed {
						heard[i][k] = ear.Listen(a.Score, a.Song)
					}
				}
			}
		})
	}
	for i := range paths {
		next <- i
	}
	close(next)
	wg.Wait()

	var table strings.Builder
	fmt.Fprintf(&table, "%-20s", "")
	for k := range 5 {
		fmt.Fprintf(&table, "%22s", fmt.Sprintf("level %d", k+1))
	}
	for _, c := range ear.Counts() {
		fmt.Fprintf(&table, "\n%-20s", c.Code)
		for k := range 5 {
			hits, of := 0, 0
			for i := range heard {
				hits += heard[i][k].Hits(c.Code)
				of += heard[i][k].Of[c.Code]
			}
			fmt.Fprintf(&table, "%22s", fmt.Sprintf("%d of %d %5.1f%%", hits, of, 100*float64(hits)/float64(max(1, of))))
		}
	}
	t.Logf("%d sheets\n%s", len(paths), table.String())
	if *marks == "" {
		return
	}
	code, level, _ := strings.Cut(*marks, ":")
	for i := range heard {
		song := load(t, paths[i])
		for k := range 5 {
			if level != "" && level != fmt.Sprint(k+1) {
				continue
			}
			for _, m := range heard[i][k].Marks {
				if m.Code == code || code == "all" {
					pos := song.PosAt(m.At)
					t.Logf("%s %s.%d bar %d beat %s: %s", m.Code, filepath.Base(paths[i]), k+1, pos.Bar, pos.Beat, m.Text)
				}
			}
		}
	}
}
