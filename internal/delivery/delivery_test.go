package delivery

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// The sets of the tests: two files, a folder and a zip beside it, and a file that the new
// set no longer has.
var (
	oldSet  = map[string]string{"a.txt": "old a", "b.txt": "old b", "gone.txt": "old", "site/index": "old i", "site/old": "old o", "site.zip": "old z"}
	newSet  = map[string]string{"a.txt": "new a", "b.txt": "new b", "c.txt": "new c", "site/index": "new i", "site/sub/new": "new n", "site.zip": "new z"}
	strange = map[string]string{"hers.txt": "hers"}
)

func lay(t *testing.T, dir string, sets ...map[string]string) {
	t.Helper()
	for _, set := range sets {
		for name, text := range set {
			p := filepath.Join(dir, name)
			if err := errors.Join(os.MkdirAll(filepath.Dir(p), 0o755), os.WriteFile(p, []byte(text), 0o644)); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// state reads a folder.
func state(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, _ := filepath.Rel(dir, p)
		text, err := os.ReadFile(p)
		out[filepath.ToSlash(rel)] = string(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// is tells whether a folder holds a set and what is hers, and nothing else.
func is(got map[string]string, set map[string]string) bool {
	if len(got) != len(set)+len(strange) {
		return false
	}
	for _, m := range []map[string]string{set, strange} {
		for k, v := range m {
			if got[k] != v {
				return false
			}
		}
	}
	return true
}

func deliver(dir string, seam func(string)) error {
	d, err := begin(dir, seam)
	if err != nil {
		return err
	}
	for name, text := range newSet {
		if err := d.Write(name, []byte(text)); err != nil {
			return errors.Join(err, d.Discard())
		}
	}
	for _, name := range []string{"a.txt", "c.txt", "site", "site.zip"} {
		d.Place(name, name)
	}
	d.Remove("gone.txt")
	d.Place("b.txt", "b.txt")
	if err := d.Commit(); err != nil {
		return errors.Join(err, d.Discard())
	}
	return nil
}

// killAt kills this process before its nth change of the file system.
func killAt(n int) func(string) {
	return func(string) {
		if n--; n < 0 {
			p, _ := os.FindProcess(os.Getpid())
			p.Kill()
			select {}
		}
	}
}

// TestMain makes of the test's own program one that delivers, or settles, and is killed.
func TestMain(m *testing.M) {
	if what, n, ok := strings.Cut(os.Getenv("DELIVERY_TEST"), " "); ok {
		at, _ := strconv.Atoi(n)
		var err error
		switch what {
		case "deliver":
			err = deliver(os.Args[1], killAt(at))
		case "settle":
			err = (&Delivery{parent: os.Args[1], seam: killAt(at)}).settle()
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// stopped runs a process that is killed at its nth change; done: it came to its end.
func stopped(t *testing.T, dir, what string, n int) (done bool) {
	t.Helper()
	cmd := exec.Command(os.Args[0], dir)
	cmd.Env = append(os.Environ(), fmt.Sprintf("DELIVERY_TEST=%s %d", what, n))
	out, err := cmd.CombinedOutput()
	if err != nil && len(out) > 0 {
		t.Fatalf("%s %d: %v\n%s", what, n, err, out)
	}
	return err == nil
}

// TestKilled kills a delivery before each change that it makes, and each of these times
// the run that puts it right before each change of that, and lets a third one do it:
// there is the old set or the new one, whole, nothing beside, and what is hers.
func TestKilled(t *testing.T) {
	every := 1
	if testing.Short() {
		every = 3
	}
	olds, news := 0, 0
	for n := 0; ; n++ {
		dir := t.TempDir()
		lay(t, dir, oldSet, strange)
		done := stopped(t, dir, "deliver", n)
		left := state(t, dir)
		if err := Settle(dir); err != nil {
			t.Fatalf("killed at %d: %v", n, err)
		}
		got := state(t, dir)
		switch {
		case is(got, oldSet):
			olds++
		case is(got, newSet):
			news++
		default:
			t.Errorf("killed at %d: then there was %v", n, got)
		}
		if done {
			break
		}
		for m := 0; n%every == 0; m++ {
			dir := t.TempDir()
			lay(t, dir, oldSet, strange)
			stopped(t, dir, "deliver", n)
			settled := stopped(t, dir, "settle", m)
			if err := Settle(dir); err != nil {
				t.Fatalf("killed at %d and %d: %v", n, m, err)
			}
			if again := state(t, dir); fmt.Sprint(again) != fmt.Sprint(got) {
				t.Errorf("killed at %d and %d: %v, where one stop led to %v; left were %v", n, m, again, got, left)
			}
			if settled {
				break
			}
		}
	}
	if olds < 5 || news < 10 {
		t.Errorf("%d stops led to the old set and %d to the new one", olds, news)
	}
}

// TestLiving: a delivery that somebody still works on is left alone.
func TestLiving(t *testing.T) {
	dir := t.TempDir()
	lay(t, dir, oldSet, strange)
	d, err := Begin(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Write("a.txt", []byte("new a")); err != nil {
		t.Fatal(err)
	}
	if err := deliver(dir, nil); err != nil {
		t.Fatal(err)
	}
	d.Place("a.txt", "a.txt")
	if err := d.Commit(); err != nil {
		t.Fatal(err)
	}
	if got := state(t, dir); !is(got, newSet) {
		t.Error(got)
	}
}

// TestUndone: where a step cannot be done the others are undone.
func TestUndone(t *testing.T) {
	dir := t.TempDir()
	lay(t, dir, oldSet, strange)
	d, err := Begin(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Discard()
	for name, text := range newSet {
		if err := d.Write(name, []byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	d.Place("a.txt", "a.txt")
	d.Place("site", "site")
	d.Remove("gone.txt")
	d.Place("b.txt", "hers.txt/b.txt") // below a file: it cannot be
	if err := d.Commit(); err == nil {
		t.Fatal("no error")
	}
	if err := d.Discard(); err != nil {
		t.Fatal(err)
	}
	if got := state(t, dir); !is(got, oldSet) {
		t.Error(got)
	}
}

// TestCameBetween: what she has put, after the stop, where a step had made room is kept.
func TestCameBetween(t *testing.T) {
	met := false
	for n := 0; ; n++ {
		dir := t.TempDir()
		lay(t, dir, oldSet, strange)
		if stopped(t, dir, "deliver", n) {
			break
		}
		if _, err := os.Stat(filepath.Join(dir, "site")); err == nil {
			continue
		}
		met = true
		lay(t, dir, map[string]string{"site/note": "hers"})
		if err := Settle(dir); err != nil {
			t.Fatal(err)
		}
		got := state(t, dir)
		if got["site.kept/note"] != "hers" || got["site/index"] != "new i" {
			t.Errorf("killed at %d: %v", n, got)
		}
	}
	if !met {
		t.Error("no stop left the place of the folder empty")
	}
}

// TestForeign: a journal that leads elsewhere is not followed, and is left.
func TestForeign(t *testing.T) {
	dir := t.TempDir()
	lay(t, dir, map[string]string{"in/.gradatim-1/journal.json": `{"version":1,"steps":[{"to":"../hers.txt"}]}`}, strange)
	if err := Settle(filepath.Join(dir, "in")); err == nil {
		t.Error("no error")
	}
	if got := state(t, dir); got["hers.txt"] != "hers" {
		t.Error(got)
	}
}

// A set holds files of its folder alone; another path is refused and writes nothing.
func TestSetStaysInItsFolder(t *testing.T) {
	dir := t.TempDir()
	set, err := BeginSet(filepath.Join(dir, "set"))
	if err != nil {
		t.Fatal(err)
	}
	defer set.Discard()
	for _, path := range []string{filepath.Join(dir, "out"), "../out", ""} {
		if err := set.Put(path, []byte("x")); !errors.Is(err, fs.ErrInvalid) {
			t.Errorf("%q: %v", path, err)
		}
	}
	if err := set.Put("in/file", []byte("x")); err != nil {
		t.Error(err)
	}
}
