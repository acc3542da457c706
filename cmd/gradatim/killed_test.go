//go:build linux && !race

package main

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"gradatim/assets"
	"gradatim/internal/sharedtest"
)

// TestKilled kills runs (SIGKILL) at random moments while they write over an older set,
// 200 times a command where SOAK=1, and looks at what the next run of another tune into
// the same place finds and leaves: the old set, the new one, or one that check tells is
// neither; in the end a whole one, with what was hers, and nothing left over. That a stop
// before each single change of the file system does no harm is shown in package delivery.
func TestKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("takes long")
	}
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	lantern, ferry := example("lantern"), example("ferry")
	tmp := t.TempDir()
	gradatim := func(t *testing.T, want int, args ...string) {
		t.Helper()
		cmd := exec.Command(program, args...)
		cmd.Args[0] = "gradatim"
		if out, err := cmd.CombinedOutput(); cmd.ProcessState.ExitCode() != want {
			t.Fatalf("gradatim %q: %v, exit code %d\n%s", args, err, cmd.ProcessState.ExitCode(), out)
		}
	}
	page := filepath.Join(tmp, "pages", "lantern.1.musicxml")
	gradatim(t, done, "ladder", lantern, "-o", filepath.Dir(page), "--levels", "1")
	for _, c := range []struct {
		name       string
		first, now []string // and the folder
		needs      func() error
	}{
		{"ladder", []string{"ladder", ferry, "-o"}, []string{"ladder", ferry, "--feel", "swing", "-o"}, nil},
		{"record", []string{"record", page, "--all", "--format", "wav", "--bars", "1", "-o"}, []string{"record", page, "--all", "--format", "wav", "--bars", "2", "-o"}, pianoThere},
		{"lesson", []string{"lesson", ferry, "--audio", "none", "--levels", "1", "--zip", "-o"}, []string{"lesson", ferry, "--audio", "none", "--levels", "1", "--feel", "swing", "--zip", "-o"}, engraverThere},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.needs != nil && c.needs() != nil && os.Getenv("CI") != "true" {
				t.Skip("the assets are not made")
			}
			seed := rand.New(rand.NewPCG(1, 2))
			parent := t.TempDir()
			dir := filepath.Join(parent, "out")
			args := func(list []string) []string { return append(list[:len(list):len(list)], dir) }
			gradatim(t, done, args(c.first)...)
			hers := filepath.Join(dir, "hers.txt")
			if err := os.WriteFile(hers, []byte("hers"), 0o644); err != nil {
				t.Fatal(err)
			}
			start := time.Now()
			gradatim(t, done, args(c.now)...)
			whole := time.Since(start)
			killed, mixed := 0, 0
			tries := sharedtest.Every(1, 50) // 1 where SOAK=1
			tries = 200 / tries
			for range tries {
				runs := [][]string{args(c.first), args(c.now)}
				r := runs[killed%2]
				ctx, cancel := context.WithTimeout(t.Context(), time.Duration(seed.Float64()*float64(whole)*1.1))
				cmd := exec.CommandContext(ctx, program, r...)
				cmd.Args[0] = "gradatim"
				_ = cmd.Run()
				cancel()
				killed++
				check := exec.Command(program, "check", dir)
				check.Args[0] = "gradatim"
				out, err := check.CombinedOutput()
				var exit *exec.ExitError
				if errors.As(err, &exit) && exit.ExitCode() == failed {
					mixed++
				} else if err != nil {
					t.Fatalf("check: %v\n%s", err, out)
				}
			}
			gradatim(t, done, args(c.now)...)
			gradatim(t, done, "check", dir)
			if text, err := os.ReadFile(hers); err != nil || string(text) != "hers" {
				t.Errorf("what was hers: %q, %v", text, err)
			}
			for _, place := range []string{parent, dir} {
				if left, _ := filepath.Glob(filepath.Join(place, ".gradatim-*")); len(left) > 0 {
					t.Errorf("left over: %v", left)
				}
				if kept, _ := filepath.Glob(filepath.Join(place, "*.kept*")); len(kept) > 0 {
					t.Errorf("our own files were kept as hers: %v", kept)
				}
			}
			t.Logf("%d runs killed within %v; after %d of them the set was mixed until the next", killed, whole.Round(time.Millisecond), mixed)
		})
	}
}

func pianoThere() error {
	_, err := assets.Piano()
	return err
}

func engraverThere() error {
	_, engraver := assets.Engraver()
	_, fonts := assets.Fonts()
	return errors.Join(engraver, fonts)
}

func example(name string) string {
	return filepath.Join(sharedtest.Root(), "examples", fmt.Sprint(name, ".abc"))
}
