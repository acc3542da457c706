package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// TestReadme runs the commands of the tour in README.md and compares what they
// print with what stands there; -update writes it.
func TestReadme(t *testing.T) {
	file := filepath.Join(sharedtest.Root(), "README.md")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "bin"), 0o777); err != nil {
		t.Fatal(err)
	}
	for link, target := range map[string]string{"bin/gradatim": program, "examples": filepath.Join(sharedtest.Root(), "examples")} {
		if err := os.Symlink(target, filepath.Join(dir, link)); err != nil {
			t.Fatal(err)
		}
	}
	const open, shut = "```console\n", "```\n"
	var out bytes.Buffer
	rest, commands := string(text), 0
	for {
		before, block, ok := strings.Cut(rest, open)
		out.WriteString(before)
		if !ok {
			break
		}
		block, rest, _ = strings.Cut(block, shut)
		out.WriteString(open)
		for _, line := range strings.SplitAfter(block, "\n") {
			command, ok := strings.CutPrefix(line, "$ ")
			if !ok {
				continue
			}
			commands++
			cmd := exec.Command("sh", "-c", command)
			cmd.Dir = dir
			printed, _ := cmd.CombinedOutput() // exit codes are none of the tour's business
			out.WriteString(line)
			out.Write(printed)
		}
		out.WriteString(shut)
	}
	if commands < 5 {
		t.Fatalf("only %d commands found in README.md", commands)
	}
	if bytes.Equal(out.Bytes(), text) {
		return
	}
	if *update {
		if err := os.WriteFile(file, out.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, got := strings.Split(string(text), "\n"), strings.Split(out.String(), "\n")
	for i := range got {
		if i >= len(want) || got[i] != want[i] {
			t.Fatalf("the tour in README.md is out of date (run with -update, and read the difference): line %d is\n%s", i+1, got[i])
		}
	}
	t.Fatal("the tour in README.md prints more than the commands do")
}
