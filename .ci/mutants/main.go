// Mutants changes single operators of the rooms that decide on the music, one at a
// time, and tells which changes no test finds.
//
//	go run ./.ci/mutants -n 250 > mutants.txt
//	go run ./.ci/mutants -again mutants.txt    # those that lived, once more
//
// Every change of a room is built into one test binary, each behind a number that the
// environment gives (see change.go); so a change costs a run and no build, and of the
// package's short tests it runs only those that come by. Changes that its own tests let
// pass are shown to those that look at whole pages. Of all changes a sample is taken,
// the same each time.
package main

import (
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"log"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// rooms are the packages that decide, each with the share of the sample that it gets.
var rooms = []struct {
	dir   string
	share int // in percent
}{{"internal/arrange", 30}, {"internal/harmony", 20}, {"internal/hand", 20}, {"internal/technique", 20}, {"internal/teach", 10}}

// pages are the tests that see whatever changes a page.
const pages = "internal/edition"

// mutant is one change.
type mutant struct {
	dir, file, kind string
	id              int // what the environment gives to have it
	line, column    int
	was             string // the line
	verdict         string
}

func main() {
	log.SetFlags(0)
	n := flag.Int("n", 250, "mutants to try")
	workers := flag.Int("workers", 2, "at the same time")
	only := flag.String("only", "", "those of one `room`, as internal/hand")
	own := flag.Bool("own", false, "leave out the tests that look at whole pages")
	skip := flag.String("skip", "", "leave out the tests of a `pattern`, such as fail by themselves")
	again := flag.String("again", "", "those that lived in a `report`")
	flag.Parse()
	if err := run(*n, *workers, *only, *again, *skip, *own); err != nil {
		log.Fatal(err)
	}
}

func run(n, workers int, only, again, skip string, own bool) error {
	before := ""
	if again != "" {
		text, err := os.ReadFile(again)
		if err != nil {
			return err
		}
		before = string(text)
	}
	var out []string
	for _, r := range rooms {
		if only != "" && only != r.dir {
			continue
		}
		share := n * r.share / 100
		if only != "" {
			share = n
		}
		ms, err := try(r.dir, workers, skip, own, func(all []mutant) []mutant { return sample(all, share, before) })
		if err != nil {
			return fmt.Errorf("%s: %w", r.dir, err)
		}
		killed := 0
		for _, m := range ms {
			if m.verdict == "killed" {
				killed++
			}
		}
		if len(ms) > 0 {
			out = append(out, fmt.Sprintf("%s: %d of %d killed (%d %%)", r.dir, killed, len(ms), 100*killed/len(ms)))
		}
	}
	if len(out) == 0 {
		return errors.New("nothing to try")
	}
	fmt.Println(strings.Join(out, "\n"))
	return nil
}

// sample takes n of the changes or, where there is a report, those that lived in it.
func sample(all []mutant, n int, report string) []mutant {
	if report != "" { // wherever the line stands now
		lived := map[string]bool{}
		for _, m := range regexp.MustCompile(`(?m)^lived (.+):\d+(:\d+ .+\n\t.*)$`).FindAllStringSubmatch(report, -1) {
			lived[m[1]+m[2]] = true
		}
		all = slices.DeleteFunc(all, func(m mutant) bool {
			return !lived[fmt.Sprintf("%s/%s:%d %s\n\t%s", m.dir, m.file, m.column, m.kind, m.was)]
		})
	}
	// The order does not hang on where a line stands, so that a sample stays much
	// the same while the source changes.
	slices.SortStableFunc(all, func(a, b mutant) int { return strings.Compare(a.hash(), b.hash()) })
	return all[:min(n, len(all))]
}

func (m mutant) hash() string {
	return fmt.Sprintf("%x", sha256.Sum256([]byte(m.dir+m.file+m.kind+m.was+fmt.Sprint(m.column))))
}

func (m mutant) String() string {
	return fmt.Sprintf("%s/%s:%d:%d %s", m.dir, m.file, m.line, m.column, m.kind)
}

// try builds a room with all its changes and runs the tests over those taken.
func try(dir string, workers int, skip string, own bool, take func([]mutant) []mutant) ([]mutant, error) {
	tmp, err := os.MkdirTemp("", "mutants")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(tmp)
	all, suites, err := build(dir, tmp, skip, own)
	if err != nil {
		return nil, err
	}
	ms := take(all)
	var wg sync.WaitGroup
	var mu sync.Mutex
	next := make(chan *mutant)
	for range workers {
		wg.Go(func() {
			for m := range next {
				m.verdict = "lived"
				reached := false
				for _, s := range suites {
					kills, comes := s.kills(m.id)
					reached = reached || comes
					if kills {
						m.verdict = "killed"
						break
					}
				}
				note := ""
				if !reached {
					note = "\t(no test comes by)\n"
				}
				mu.Lock()
				fmt.Printf("%s %s\n\t%s\n%s", m.verdict, m, m.was, note)
				mu.Unlock()
			}
		})
	}
	for i := range ms {
		next <- &ms[i]
	}
	close(next)
	wg.Wait()
	return ms, nil
}
