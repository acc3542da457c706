package edition_test

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"gradatim/internal/ear"
	"gradatim/internal/edition"
	"gradatim/internal/sharedtest"
	"gradatim/score"
	"gradatim/theory"
)

var marks = flag.String("marks", "", "print every mark of this count (or all), with level and place")

// TestCorpusMarks counts what a teacher would mark on the pages of the corpus, in each
// sheet's own key for the default hand, and prints the counts as a table
// (docs/corpus.md keeps one):
//
//	go test -run TestCorpusMarks -v ./internal/edition
//	go test -run TestCorpusMarks -v ./internal/edition -marks bass-ninth:4
//
// Without -v nobody reads the table: then, and in short mode, every sixteenth sheet is
// heard.
func TestCorpusMarks(t *testing.T) {
	paths := sharedtest.Sheets(t)
	if sharedtest.Every(16, 16) > 1 && (testing.Short() || !testing.Verbose()) {
		some := paths[:0:0]
		for i := 0; i < len(paths); i += 16 {
			some = append(some, paths[i])
		}
		paths = some
	}
	heard := make([][5]ear.Heard, len(paths))
	steps := make([][5]step, len(paths))
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
					if a.Failed {
						t.Errorf("%s, level %d: %v", filepath.Base(paths[i]), k+1, a.Problems.Err())
					} else {
						heard[i][k] = ear.Listen(a.Score, a.Song)
						steps[i][k] = stepOf(a)
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
	t.Logf("%d sheets\n%s\n%s", len(paths), table.String(), ladderTable(t, paths, steps))
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
					t.Logf("%s %s.%d (%s) bar %d beat %s: %s", m.Code, filepath.Base(paths[i]), k+1, steps[i][k].kind, pos.Bar, pos.Beat, m.Text)
				}
			}
		}
	}
}

// step is what of a page is compared with the level below.
type step struct {
	kind  string
	speed int     // strikes of the tempo's note a minute, as quarters
	busy  float64 // strikes of both hands a beat
	notes float64 // notes a beat
	left  float64 // strikes of the left hand a beat
	leaps float64 // share of bars in which the left hand strikes low and then a chord at least a fifth above
}

func stepOf(a edition.Page) step {
	s := step{kind: a.Kind.ID, speed: a.Score.Tempo.QuartersPerMinute()}
	var beats, strikes, left float64
	for _, b := range a.Score.Bars {
		beats += float64(b.Dur) / float64(b.Meter.OrCommon().BeatDur())
	}
	type at struct {
		at   theory.Dur
		hand score.Hand
	}
	low, high, keys := map[at]int{}, map[at]int{}, map[at]int{}
	for _, n := range a.Score.Notes {
		if n.Grace > 0 {
			continue
		}
		k := at{n.At, n.Hand}
		if keys[k] == 0 || n.Pitch.MIDI() < low[k] {
			low[k] = n.Pitch.MIDI()
		}
		high[k] = max(high[k], n.Pitch.MIDI())
		keys[k]++
		s.notes++
	}
	for k := range keys {
		strikes++
		if k.hand == score.Left {
			left++
		}
	}
	bars, oom := 0.0, 0.0
	for _, b := range a.Score.Bars {
		var line []at
		for k := range keys {
			if k.hand == score.Left && k.at >= b.At && k.at < b.End() {
				line = append(line, k)
			}
		}
		slices.SortFunc(line, func(x, y at) int { return cmp.Compare(x.at, y.at) })
		if len(line) > 0 {
			bars++
		}
		for i := 1; i < len(line); i++ {
			if x, y := line[i-1], line[i]; keys[y] >= 2 && low[y]-high[x] >= 5 && y.at-x.at <= b.Meter.OrCommon().BeatDur() {
				oom++
				break
			}
		}
	}
	s.busy, s.notes, s.left, s.leaps = strikes/beats, s.notes/beats, left/beats, oom/max(bars, 1)
	return s
}

// ladderTable counts, over neighbouring levels, where the lower one asks more of what a
// pupil notices first, and the pages of sung kinds that leap from bass to chord.
func ladderTable(t *testing.T, paths []string, steps [][5]step) string {
	counts := []struct {
		code string
		up   func(a, b step) bool
	}{
		{"tempo-falls", func(a, b step) bool { return b.speed < a.speed }},
		{"strikes-fall", func(a, b step) bool { return b.busy < a.busy*0.97 }},
		{"left-falls", func(a, b step) bool { return b.left < a.left*0.9 }},
		{"notes-fall", func(a, b step) bool { return b.notes < a.notes }},
		{"speed-falls", func(a, b step) bool { return b.busy*float64(b.speed) < a.busy*float64(a.speed)*0.97 }},
		{"leaps-in-song", func(_, b step) bool {
			return slices.Contains([]string{"hymn", "lullaby", "air", "parlour-song"}, b.kind) && b.leaps > 0.2
		}},
	}
	var table strings.Builder
	for _, c := range counts {
		fmt.Fprintf(&table, "\n%-20s", c.code)
		for k := range 5 {
			hits, of := 0, 0
			for i := range steps {
				a, b := steps[i][max(0, k-1)], steps[i][k]
				if a.notes == 0 || b.notes == 0 {
					continue
				}
				of++
				if c.up(a, b) {
					hits++
					if code, level, _ := strings.Cut(*marks, ":"); code == c.code && (level == "" || level == fmt.Sprint(k+1)) {
						t.Logf("%s %s.%d %s: %+v, below %+v", c.code, filepath.Base(paths[i]), k+1, b.kind, b, a)
					}
				}
			}
			fmt.Fprintf(&table, "%22s", fmt.Sprintf("%d of %d", hits, of))
		}
	}
	return table.String()
}
