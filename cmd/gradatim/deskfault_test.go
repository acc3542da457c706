//go:build linux && !race

package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/ncruces/go-sqlite3/driver"

	"gradatim"
	"gradatim/internal/sharedtest"
)

// deskRun is a desk as a process of its own, and a browser that was let in.
type deskRun struct {
	t    *testing.T
	cmd  *exec.Cmd
	base string
	http *http.Client
}

// startDesk starts the program on a shelf.
func startDesk(t *testing.T, shelf string) *deskRun {
	t.Helper()
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, "desk", "--shelf", shelf, "--addr", "127.0.0.1:0", "--no-browser")
	cmd.Args[0] = "gradatim"
	cmd.Env = append(os.Environ(), "XDG_CONFIG_HOME="+t.TempDir())
	var told bytes.Buffer
	cmd.Stderr = &told
	in, _ := cmd.StdinPipe()
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { in.Close(); cmd.Process.Kill(); cmd.Wait() })
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatalf("nothing is printed: %s", told.String())
	}
	_, address, _ := strings.Cut(lines.Text(), "http://")
	go io.Copy(io.Discard, out)
	jar, _ := cookiejar.New(nil)
	d := &deskRun{t: t, cmd: cmd, http: &http.Client{Jar: jar}}
	host, _, _ := strings.Cut(address, "/")
	d.base = "http://" + host
	if status, text := d.get("http://" + address); status != http.StatusOK {
		t.Fatalf("%d: %s", status, text)
	}
	return d
}

func (d *deskRun) get(at string) (int, string) {
	d.t.Helper()
	res, err := d.http.Get(at)
	return d.read(res, err)
}

func (d *deskRun) post(path string, form url.Values) (int, string) {
	d.t.Helper()
	res, err := d.http.PostForm(d.base+path, form)
	return d.read(res, err)
}

// read is an answer; 0: none came.
func (d *deskRun) read(res *http.Response, err error) (int, string) {
	if err != nil {
		return 0, err.Error()
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		return 0, err.Error()
	}
	return res.StatusCode, string(text)
}

const gateSheet = "X:1\nT:Gate\nM:4/4\nL:1/4\nK:C\n\"C\"CDEF|\"G7\"GFED|\"Am\"cBAG|\"C\"C4|]\n"

// shelfWith makes a shelf with one tune.
func shelfWith(t *testing.T, dir string) (at gradatim.ShelfPlace, tune string) {
	t.Helper()
	at, err := gradatim.ParseShelfPlace(dir, "", false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := gradatim.CreateShelf(t.Context(), at, gradatim.ShelfConfig{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	file := filepath.Join(t.TempDir(), "gate.abc")
	if err := os.WriteFile(file, []byte(gateSheet), 0o600); err != nil {
		t.Fatal(err)
	}
	taken, err := s.Take(t.Context(), []string{file}, gradatim.TakeOptions{})
	if err != nil || taken[0].Tune == "" {
		t.Fatal(err, taken)
	}
	return at, taken[0].Tune
}

// history is how many entries the choices of a tune have.
func history(t *testing.T, at gradatim.ShelfPlace, tune string) int {
	t.Helper()
	s, err := gradatim.OpenShelf(t.Context(), at, gradatim.ShelfConfig{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	rs, err := s.History(t.Context(), tune, gradatim.ChoicesHistory)
	if err != nil {
		t.Fatal(err)
	}
	return len(rs)
}

// chord is a form that sets one of two chords, so that each is a change.
func chord(seen int) url.Values {
	return url.Values{"do": {"chord"}, "level": {"1"}, "seen": {strconv.Itoa(seen)}, "beat": {"1"}, "chord": {[]string{"C6", "Am"}[seen%2]}}
}

// TestDeskFullDisk: on a disk without room the desk goes on showing, a change is refused and
// told, and with room again it is made.
func TestDeskFullDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("mounts a disk")
	}
	dir := sharedtest.Disk(t, "8m")
	at, tune := shelfWith(t, filepath.Join(dir, "shelf"))
	d := startDesk(t, filepath.Join(dir, "shelf"))
	bar := "/tunes/" + tune + "/bar/1"
	if status, text := d.post(bar, chord(0)); status != http.StatusOK || !strings.Contains(text, "Done, and kept.") {
		t.Fatalf("%d: %s", status, text)
	}
	filler := filepath.Join(dir, "filler")
	f, err := os.Create(filler)
	if err != nil {
		t.Fatal(err)
	}
	for block := make([]byte, 4096); err == nil; _, err = f.Write(block) {
	}
	f.Close()
	if !errors.Is(err, syscall.ENOSPC) {
		t.Fatal(err)
	}
	refused := 0
	for seen := 1; seen < 40 && refused == 0; seen++ { // what was opened before has some room left
		if status, text := d.post(bar, chord(seen)); status == http.StatusUnprocessableEntity && strings.Contains(text, "shelf-full") {
			refused = seen
		} else if status != http.StatusOK {
			t.Fatalf("change %d: %d: %s", seen, status, text)
		}
	}
	if refused == 0 {
		t.Fatal("on a full disk every change is made")
	}
	if status, _ := d.get(d.base + bar + "?level=1"); status != http.StatusOK {
		t.Errorf("the bar is not shown: %d", status)
	}
	if err := os.Remove(filler); err != nil {
		t.Fatal(err)
	}
	if status, text := d.post(bar, chord(refused)); status != http.StatusOK || !strings.Contains(text, "Done, and kept.") {
		t.Errorf("with room again: %d: %s", status, text)
	}
	if n := history(t, at, tune); n != refused+1 {
		t.Errorf("%d changes were answered, %d are kept", refused+1, n)
	}
}

// TestDeskWriteProtected: a shelf that cannot be written is opened to be looked at, as it
// was left, also by a desk that was killed; every page says so, and a change is refused.
func TestDeskWriteProtected(t *testing.T) {
	if testing.Short() {
		t.Skip("mounts a disk")
	}
	dir := sharedtest.Disk(t, "16m")
	shelf := filepath.Join(dir, "shelf")
	_, tune := shelfWith(t, shelf)
	bar := "/tunes/" + tune + "/bar/1"
	first := startDesk(t, shelf)
	if status, text := first.post(bar, chord(0)); status != http.StatusOK {
		t.Fatalf("%d: %s", status, text)
	}
	first.cmd.Process.Kill()
	first.cmd.Wait()
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	d := startDesk(t, shelf)
	for _, path := range []string{"/", "/tunes/" + tune, bar + "?level=1", "/tunes/" + tune + "/history", "/tunes/" + tune + "/lesson"} {
		status, text := d.get(d.base + path)
		if status != http.StatusOK || !strings.Contains(text, "and not changed:") {
			t.Errorf("%s: %d: %s", path, status, text)
		}
		if strings.HasSuffix(path, "history") && !strings.Contains(text, "Level 1, bar 1") {
			t.Errorf("what was answered before is not there: %s", text)
		}
	}
	if status, _ := d.post(bar, chord(1)); status != http.StatusConflict {
		t.Errorf("a change is answered with %d", status)
	}
}

// TestDeskNewer: a shelf that a newer release has written is opened to be looked at; every page
// says so, and a change is refused.
func TestDeskNewer(t *testing.T) {
	shelf := filepath.Join(t.TempDir(), "shelf")
	_, tune := shelfWith(t, shelf)
	db, err := driver.Open("file:" + filepath.ToSlash(filepath.Join(shelf, "shelf.db")))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (999, 1)"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	d := startDesk(t, shelf)
	for _, path := range []string{"/", "/tunes/" + tune + "/whole", "/tunes/" + tune + "/bar/1?level=1"} {
		if status, text := d.get(d.base + path); status != http.StatusOK || !strings.Contains(text, "and not changed:") || !strings.Contains(text, "newer") {
			t.Errorf("%s: %d: %s", path, status, text)
		}
	}
	if status, _ := d.post("/tunes/"+tune+"/bar/1", chord(0)); status != http.StatusConflict {
		t.Errorf("a change is answered with %d", status)
	}
}

// TestDeskKilled kills a desk (SIGKILL) at random moments while it makes changes: what was
// answered is there, and at most the change in flight beside it.
func TestDeskKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts the program several times")
	}
	shelf := filepath.Join(t.TempDir(), "shelf")
	at, tune := shelfWith(t, shelf)
	chance := rand.New(rand.NewPCG(3, 4))
	answered := 0
	for range 100 / sharedtest.Every(1, 50) {
		d := startDesk(t, shelf)
		if status, text := d.get(d.base + "/tunes/" + tune + "/bar/1?level=1"); status != http.StatusOK { // its pages are arranged
			t.Fatalf("%d: %s", status, text)
		}
		ctx, cancel := context.WithTimeout(t.Context(), time.Duration(chance.Float64()*float64(300*time.Millisecond)))
		go func() { <-ctx.Done(); d.cmd.Process.Kill() }()
		for {
			status, text := d.post("/tunes/"+tune+"/bar/1", chord(answered))
			if status == 0 {
				break
			}
			if status != http.StatusOK || !strings.Contains(text, "Done, and kept.") {
				t.Fatalf("%d: %s", status, text)
			}
			answered++
		}
		cancel()
		d.cmd.Wait()
		n := history(t, at, tune)
		if n < answered || n > answered+1 {
			t.Fatalf("%d changes were answered, %d are kept", answered, n)
		}
		answered = n
	}
	t.Logf("%d changes", answered)
}
