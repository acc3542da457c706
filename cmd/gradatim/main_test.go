package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"gradatim/assets"
	"gradatim/internal/sharedtest"
)

var update = flag.Bool("update", false, "rewrite what the program prints in scripts, README.md and docs")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"gradatim": func() {
		code := run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
		if file := os.Getenv(peakFile); file != "" {
			status, err := os.ReadFile("/proc/self/status")
			if err == nil {
				err = os.WriteFile(file, status, 0o666)
			}
			if err != nil {
				panic(err)
			}
		}
		os.Exit(code)
	}})
}

// peakFile names the variable of the environment that makes the program under
// test leave what the system says of its memory.
const peakFile = "GRADATIM_TEST_PEAK"

// TestScripts runs the scripts in testdata/script: normal use, and every kind of
// bad input. They check what is promised, not which notes are chosen.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			env.Setenv("EXAMPLES", filepath.Join(sharedtest.Root(), "examples"))
			return nil
		},
		Condition: func(cond string) (bool, error) {
			switch cond {
			case "root": // who may write anywhere
				return os.Getuid() == 0, nil
			case "assets": // required where CI=true, and left alone under -short
				if testing.Short() {
					return false, nil
				}
				_, engraver := assets.Engraver()
				_, piano := assets.Piano()
				_, fonts := assets.Fonts()
				return errors.Join(engraver, piano, fonts) == nil || os.Getenv("CI") == "true", nil
			}
			return false, fmt.Errorf("unknown condition %s", cond)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"run":      runCmd,
			"shape":    shapeCmd,
			"same":     sameCmd,
			"repeat":   repeatCmd,
			"pack":     packCmd,
			"truncate": truncateCmd,
			"list":     listCmd,
			"holds":    holdsCmd,
			"both":     bothCmd,
		},
	})
}

// runCmd: run CODE ARGS... runs the program and expects an exit code.
func runCmd(ts *testscript.TestScript, neg bool, args []string) {
	want := -1
	if len(args) > 0 {
		if n, err := strconv.Atoi(args[0]); err == nil {
			want = n
		}
	}
	if neg || want < 0 {
		ts.Fatalf("usage: run EXIT-CODE ARGS...")
	}
	got := 0
	if err := ts.Exec("gradatim", args[1:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// shapeCmd: shape NAME FILE checks that a JSON file has a documented shape.
func shapeCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: shape NAME FILE")
	}
	var v any
	if err := json.Unmarshal([]byte(ts.ReadFile(args[1])), &v); err != nil {
		ts.Fatalf("%s: %v", args[1], err)
	}
	doc, err := readFormats()
	ts.Check(err)
	if wrong := doc.check(args[0], v); len(wrong) > 0 {
		ts.Fatalf("%s is not of the documented shape %s:\n%s", args[1], args[0], strings.Join(wrong, "\n"))
	}
}

// sameCmd: same DIR1 DIR2 compares all files of two folders, byte for byte.
func sameCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: same DIR1 DIR2")
	}
	a, b := ts.MkAbs(args[0]), ts.MkAbs(args[1])
	if x, y := strings.Join(names(ts, a), " "), strings.Join(names(ts, b), " "); x != y {
		ts.Fatalf("%s has %s\n%s has %s", args[0], x, args[1], y)
	}
	for _, n := range names(ts, a) {
		if ts.ReadFile(filepath.Join(a, n)) != ts.ReadFile(filepath.Join(b, n)) {
			ts.Fatalf("%s differs", n)
		}
	}
}

// holdsCmd: holds FILE TEXT looks for a text in a file that is none, as UTF-8 or
// little-endian UTF-16.
func holdsCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: holds FILE TEXT")
	}
	data := ts.ReadFile(args[0])
	var wide strings.Builder
	for _, r := range args[1] {
		wide.WriteString(string([]byte{byte(r), byte(r >> 8)}))
	}
	if !strings.Contains(data, args[1]) && !strings.Contains(data, wide.String()) {
		ts.Fatalf("%s does not hold %q", args[0], args[1])
	}
}

// bothCmd: both DIR SHEET ARGS... makes the ladder of a sheet in DIR/ladder and its
// lesson in DIR/lesson, with the same options, and expects the same pages, MIDI files
// and accounts in both.
func bothCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: both DIR SHEET ARGS...")
	}
	ladder, lesson := filepath.Join(args[0], "ladder"), filepath.Join(args[0], "lesson")
	runCmd(ts, false, append([]string{"0", "ladder", args[1], "-o", ladder}, args[2:]...))
	runCmd(ts, false, append([]string{"0", "lesson", args[1], "-o", lesson, "--audio", "none"}, args[2:]...))
	pages := 0
	for _, name := range names(ts, ts.MkAbs(ladder)) {
		parts := strings.Split(name, ".") // stem, level, extension
		if len(parts) != 3 {
			continue
		}
		level, ext := parts[1], parts[2]
		dir := "scores"
		if ext == "mid" {
			dir = "sound"
		}
		there := filepath.Join(lesson, dir, "level-"+level+"."+ext)
		if ts.ReadFile(filepath.Join(ladder, name)) != ts.ReadFile(there) {
			ts.Fatalf("%s is not %s", there, name)
		}
		pages++
	}
	if pages == 0 || pages%3 != 0 {
		ts.Fatalf("%d files compared", pages)
	}
}

// listCmd: list DIR NAME... expects just these files in a folder.
func listCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: list DIR NAME...")
	}
	if got, want := strings.Join(names(ts, ts.MkAbs(args[0])), " "), strings.Join(args[1:], " "); got != want {
		ts.Fatalf("%s has %s\nwant %s", args[0], got, want)
	}
}

func names(ts *testscript.TestScript, dir string) []string {
	entries, err := os.ReadDir(dir)
	ts.Check(err)
	out := make([]string, len(entries))
	for i, e := range entries {
		out[i] = e.Name()
	}
	return out
}

// repeatCmd: repeat FILE HEAD N TEXT TAIL writes a file with many repetitions of a
// text; \n is the end of a line.
func repeatCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 5 {
		ts.Fatalf("usage: repeat FILE HEAD N TEXT TAIL")
	}
	n, err := strconv.Atoi(args[2])
	ts.Check(err)
	nl := func(s string) string { return strings.ReplaceAll(s, `\n`, "\n") }
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(nl(args[1])+strings.Repeat(nl(args[3]), n)+nl(args[4])), 0o666))
}

// packCmd: pack ZIP NAME=FILE... packs files into a zip; a number in the place of
// a file stands for as many blanks.
func packCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: pack ZIP NAME=FILE...")
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, a := range args[1:] {
		name, file, _ := strings.Cut(a, "=")
		w, err := z.Create(name)
		ts.Check(err)
		n, err := strconv.Atoi(file)
		data := bytes.Repeat([]byte{' '}, max(0, n))
		if err != nil {
			data = []byte(ts.ReadFile(file))
		}
		_, err = w.Write(data)
		ts.Check(err)
	}
	ts.Check(z.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o666))
}

// truncateCmd: truncate FILE N cuts a file off after N bytes.
func truncateCmd(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: truncate FILE N")
	}
	n, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	ts.Check(os.Truncate(ts.MkAbs(args[0]), n))
}
