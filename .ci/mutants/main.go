// Mutants changes single operators of the rooms that decide on the music, one at a
// time, and tells which changes no test finds.
//
//	go run ./.ci/mutants -n 200 > mutants.txt
//
// What can be changed is listed by a program made for that (gremlins); of its list a
// sample is taken, the same each time, and each change is laid over the source for one
// run of the package's short tests. Changes that its own tests let pass are shown to
// those that look at whole pages.
package main

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

const gremlins = "github.com/go-gremlins/gremlins/cmd/gremlins@v0.5.0"

// rooms are the packages that decide, each with the share of the sample that it gets.
var rooms = []struct {
	dir   string
	share int // in percent
}{{"internal/arrange", 30}, {"internal/harmony", 20}, {"internal/hand", 20}, {"internal/technique", 20}, {"internal/teach", 10}}

// pages are the tests that see whatever changes a page.
var pages = []string{"-run", "Golden", "./internal/edition"}

// mutant is one change.
type mutant struct {
	dir, file, kind string
	line, column    int
	was, now        string // the line
	verdict         string
}

func main() {
	log.SetFlags(0)
	n := flag.Int("n", 200, "mutants to try")
	workers := flag.Int("workers", 2, "at the same time")
	only := flag.String("only", "", "those of one `room`, as internal/hand")
	own := flag.Bool("own", false, "leave out the tests that look at whole pages")
	flag.Parse()
	ms, err := sample(*n, *only)
	if err != nil {
		log.Fatal(err)
	}
	var wg sync.WaitGroup
	next := make(chan *mutant)
	for range *workers {
		wg.Go(func() {
			for m := range next {
				m.verdict = m.try(*own)
				fmt.Printf("%s %s/%s:%d:%d %s\n\t%s\n", m.verdict, m.dir, m.file, m.line, m.column, m.kind, strings.TrimSpace(m.now))
			}
		})
	}
	for i := range ms {
		next <- &ms[i]
	}
	close(next)
	wg.Wait()
	count := map[string]int{}
	for _, m := range ms {
		count[m.verdict]++
	}
	tried := count["killed"] + count["lived"]
	fmt.Printf("%d of %d killed (%d %%); %d do not compile\n", count["killed"], tried, 100*count["killed"]/max(1, tried), count["unfit"])
}

// sample lists the mutants and takes some.
func sample(n int, only string) ([]mutant, error) {
	var out []mutant
	for _, room := range rooms {
		if only != "" {
			if only != room.dir {
				continue
			}
			room.share = 100
		}
		all, err := list(room.dir)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", room.dir, err)
		}
		// The order does not hang on where a line stands, so that a sample stays much
		// the same while the source changes.
		slices.SortStableFunc(all, func(a, b mutant) int { return strings.Compare(a.hash(), b.hash()) })
		out = append(out, all[:min(n*room.share/100, len(all))]...)
	}
	return out, nil
}

func (m mutant) hash() string {
	return fmt.Sprintf("%x", sha256.Sum256([]byte(m.dir+m.file+m.kind+strings.TrimSpace(m.was)+fmt.Sprint(m.column))))
}

// list asks what can be changed in a package.
func list(dir string) ([]mutant, error) {
	report, err := os.CreateTemp("", "mutants-*.json")
	if err != nil {
		return nil, err
	}
	report.Close()
	defer os.Remove(report.Name())
	cmd := exec.Command("go", "run", gremlins, "unleash", "--silent", "--dry-run", "-o", report.Name(), "./"+dir)
	cmd.Env = append(os.Environ(), "GOFLAGS=-short")
	if text, err := cmd.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("%w\n%s", err, text)
	}
	data, err := os.ReadFile(report.Name())
	if err != nil {
		return nil, err
	}
	var found struct {
		Files []struct {
			Name      string `json:"file_name"`
			Mutations []struct {
				Type         string
				Line, Column int
			}
		}
	}
	if err := json.Unmarshal(data, &found); err != nil {
		return nil, err
	}
	var out []mutant
	for _, f := range found.Files {
		name := filepath.Base(f.Name)
		source, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			return nil, err
		}
		lines := strings.Split(string(source), "\n")
		for _, x := range f.Mutations {
			m := mutant{dir: dir, file: name, kind: x.Type, line: x.Line, column: x.Column, was: lines[x.Line-1]}
			if now, ok := changed(m.was, x.Column, x.Type); ok {
				m.now = now
				out = append(out, m)
			}
		}
	}
	slices.SortFunc(out, func(a, b mutant) int {
		return cmp.Or(strings.Compare(a.file, b.file), a.line-b.line, a.column-b.column, strings.Compare(a.kind, b.kind))
	})
	return out, nil
}

// operators are what each kind of change makes of an operator. The longer of two that
// begin alike comes first.
var operators = map[string][][2]string{
	"ARITHMETIC_BASE":       {{"+", "-"}, {"-", "+"}, {"*", "/"}, {"/", "*"}, {"%", "*"}},
	"CONDITIONALS_BOUNDARY": {{"<=", "<"}, {">=", ">"}, {"<", "<="}, {">", ">="}},
	"CONDITIONALS_NEGATION": {{"==", "!="}, {"!=", "=="}, {"<=", ">"}, {">=", "<"}, {"<", ">="}, {">", "<="}},
	"INCREMENT_DECREMENT":   {{"++", "--"}, {"--", "++"}},
	"INVERT_NEGATIVES":      {{"-", "+"}},
}

func changed(line string, column int, kind string) (string, bool) {
	head, rest := line[:column-1], line[column-1:]
	for _, op := range operators[kind] {
		if after, ok := strings.CutPrefix(rest, op[0]); ok {
			return head + op[1] + after, true
		}
	}
	return "", false
}

// try runs the tests over the change.
func (m *mutant) try(own bool) string {
	tmp, err := os.MkdirTemp("", "mutant")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(tmp)
	path, err := filepath.Abs(filepath.Join(m.dir, m.file))
	if err != nil {
		log.Fatal(err)
	}
	source, err := os.ReadFile(path)
	if err != nil {
		log.Fatal(err)
	}
	lines := strings.Split(string(source), "\n")
	lines[m.line-1] = m.now
	file, overlay := filepath.Join(tmp, m.file), filepath.Join(tmp, "overlay.json")
	where, err := json.Marshal(map[string]map[string]string{"Replace": {path: file}})
	if err := errors.Join(err, os.WriteFile(file, []byte(strings.Join(lines, "\n")), 0o600), os.WriteFile(overlay, where, 0o600)); err != nil {
		log.Fatal(err)
	}
	run := func(args ...string) (text []byte, ok bool) {
		ctx, stop := context.WithTimeout(context.Background(), 5*time.Minute)
		defer stop()
		cmd := exec.CommandContext(ctx, "go", append([]string{"test", "-short", "-failfast", "-vet=off", "-timeout", "2m", "-overlay", overlay}, args...)...)
		text, err := cmd.CombinedOutput()
		return text, err == nil
	}
	text, ok := run("./" + m.dir)
	if !ok && strings.Contains(string(text), "[build failed]") {
		return "unfit"
	}
	if ok && !own {
		_, ok = run(pages...)
	}
	if ok {
		return "lived"
	}
	return "killed"
}
