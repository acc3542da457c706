package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// suite is a test binary with every change of a room in it.
type suite struct {
	dir, binary string
	skip        string // a pattern of tests that are left out
	tests       []test
}

// test is one test of a suite.
type test struct {
	name  string
	took  time.Duration
	first bool         // it is run before those that are not
	meets map[int]bool // the changes that it comes by
}

// quick is how long a test may take to be run before the slow ones.
const quick = 300 * time.Millisecond

// build writes a room's source with all its changes and builds its own tests over it
// and, unless only those are asked for, the ones that look at pages. A line on which a
// change does not compile is left as it is.
func build(dir, tmp, skip string, own bool) ([]mutant, []suite, error) {
	spoilt := map[string]bool{} // file:line
	binary := filepath.Join(tmp, "own.test")
	overlay := filepath.Join(tmp, "overlay.json")
	var all []mutant
	for {
		files, ms, err := changed(dir, spoilt)
		if err != nil {
			return nil, nil, err
		}
		all = ms
		where := map[string]string{}
		for name, text := range files {
			to := filepath.Join(tmp, name)
			if err := os.WriteFile(to, text, 0o600); err != nil {
				return nil, nil, err
			}
			abs, err := filepath.Abs(filepath.Join(dir, name))
			if err != nil {
				return nil, nil, err
			}
			where[abs] = to
		}
		data, err := json.Marshal(map[string]any{"Replace": where})
		if err != nil {
			return nil, nil, err
		}
		if err := os.WriteFile(overlay, data, 0o600); err != nil {
			return nil, nil, err
		}
		text, err := exec.Command("go", "test", "-c", "-vet=off", "-gcflags=-e", "-overlay", overlay, "-o", binary, "./"+dir).CombinedOutput()
		if err == nil {
			break
		}
		more := false
		for _, m := range regexp.MustCompile(`(?m)([\w.]+\.go):(\d+):\d+:`).FindAllStringSubmatch(string(text), -1) {
			if k := m[1] + ":" + m[2]; !spoilt[k] {
				spoilt[k], more = true, true
			}
		}
		if !more {
			return nil, nil, fmt.Errorf("%w\n%s", err, text)
		}
	}
	suites := []suite{{dir: dir, binary: binary, skip: skip}}
	list, err := suites[0].run(context.Background(), nil, "-test.list", ".")
	if err != nil {
		return nil, nil, fmt.Errorf("%w\n%s", err, list)
	}
	for _, name := range strings.Fields(string(list)) {
		if !strings.HasPrefix(name, "Benchmark") {
			suites[0].tests = append(suites[0].tests, test{name: name})
		}
	}
	if !own {
		s := suite{dir: pages, binary: filepath.Join(tmp, "pages.test"), tests: []test{{name: "TestGolden"}}}
		if text, err := exec.Command("go", "test", "-c", "-vet=off", "-overlay", overlay, "-o", s.binary, "./"+pages).CombinedOutput(); err != nil {
			return nil, nil, fmt.Errorf("%w\n%s", err, text)
		}
		suites = append(suites, s)
	}
	for i := range suites {
		if err := suites[i].survey(filepath.Join(tmp, "met")); err != nil {
			return nil, nil, err
		}
	}
	return all, suites, nil
}

// survey runs the tests over the unchanged source, each by itself; where they share what
// takes long to make, and alone would cost far more than together, all as one.
func (s *suite) survey(log string) error {
	all, err := s.measure(log, ".")
	if err != nil {
		return err
	}
	slices.SortStableFunc(s.tests, func(a, b test) int { // what compares most comes first
		return strings.Index(b.name, "Golden") - strings.Index(a.name, "Golden")
	})
	var kept []test
	var cost time.Duration
	for i, t := range s.tests {
		t, err := s.measure(log, "^"+t.name+"$")
		if err != nil {
			return err
		}
		t.first = i == 0 || t.took < quick
		if len(t.meets) > 0 {
			kept = append(kept, t)
		}
		if cost += t.took; cost > 3*all.took+5*time.Second {
			kept = append(kept[:min(1, len(kept))], all)
			break
		}
	}
	s.tests = kept
	return nil
}

// measure runs the tests of a name: how long they take, and what they come by.
func (s *suite) measure(log, name string) (test, error) {
	t := test{name: name, meets: map[int]bool{}}
	start := time.Now()
	if text, err := s.run(context.Background(), []string{"MUTANTS_MET=" + log}, "-test.short", "-test.run", name); err != nil {
		return t, fmt.Errorf("%s: %w\n%s", name, err, text)
	}
	t.took = time.Since(start)
	text, err := os.ReadFile(log)
	if errors.Is(err, fs.ErrNotExist) { // it comes by none
		return t, nil
	}
	if err != nil {
		return t, err
	}
	for _, w := range strings.Fields(string(text)) {
		id, err := strconv.Atoi(w)
		if err != nil {
			return t, err
		}
		t.meets[id] = true
	}
	return t, os.Remove(log)
}

// kills runs the tests that come by a change, in two parts. comes tells
// whether there are any.
func (s suite) kills(id int) (kills, comes bool) {
	var parts [2][]test
	for _, t := range s.tests {
		switch {
		case !t.meets[id]:
		case t.first:
			parts[0] = append(parts[0], t)
		default:
			parts[1] = append(parts[1], t)
		}
	}
	for _, part := range parts {
		if len(part) == 0 {
			continue
		}
		names, limit := []string{}, 20*time.Second
		slices.SortFunc(part, func(a, b test) int { return int(a.took - b.took) })
		for _, t := range part {
			names = append(names, t.name)
			limit += 5 * t.took
		}
		ctx, stop := context.WithTimeout(context.Background(), limit)
		_, err := s.run(ctx, []string{fmt.Sprintf("MUTANT=%d", id)}, "-test.short", "-test.failfast", "-test.run", strings.Join(names, "|"))
		stop()
		if err != nil {
			return true, true
		}
	}
	return false, len(parts[0])+len(parts[1]) > 0
}

func (s suite) run(ctx context.Context, env []string, args ...string) ([]byte, error) {
	if s.skip != "" {
		args = append(args, "-test.skip", s.skip)
	}
	cmd := exec.CommandContext(ctx, s.binary, args...)
	cmd.Dir = s.dir
	cmd.Env = append(os.Environ(), env...)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	err := cmd.Run()
	return out.Bytes(), err
}
