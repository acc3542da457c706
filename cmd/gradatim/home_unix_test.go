//go:build !windows && !darwin

package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestHome does what a double click does, twice: the shelf is made among the documents,
// the page has a button that ends the program, and what was put there is there again.
func TestHome(t *testing.T) {
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_CONFIG_HOME", filepath.Join(home, ".config"))
	for again := range 2 {
		out, w := io.Pipe()
		ended := make(chan int, 1)
		go func() {
			ended <- run(context.Background(), []string{"desk", "--home", "--no-browser"}, strings.NewReader(""), w, io.Discard)
			w.Close()
		}()
		lines := bufio.NewScanner(out)
		if !lines.Scan() {
			t.Fatalf("nothing is printed; it ended with %d", <-ended)
		}
		_, address, _ := strings.Cut(lines.Text(), "http://")
		go io.Copy(io.Discard, out)
		jar, _ := cookiejar.New(nil)
		c := &http.Client{Jar: jar}
		read := func(res *http.Response, err error) string {
			t.Helper()
			if err != nil {
				t.Fatal(err)
			}
			defer res.Body.Close()
			text, _ := io.ReadAll(res.Body)
			return string(text)
		}
		first := read(c.Get("http://" + address))
		if !strings.Contains(first, "End the program") || strings.Contains(first, "The shelf is empty") != (again == 0) {
			t.Errorf("start %d shows %s", again+1, first)
		}
		host, _, _ := strings.Cut(address, "/")
		if again == 0 {
			read(c.PostForm("http://"+host+"/tunes", map[string][]string{"text": {"X:1\nT:Gate\nM:4/4\nL:1/4\nK:C\n\"C\"CDEF|\"G7\"GFED|\"C\"C4|]\n"}}))
		}
		if text := read(c.PostForm("http://"+host+"/stop", nil)); !strings.Contains(text, "The program has ended") {
			t.Errorf("the button answers %s", text)
		}
		if code := <-ended; code != done {
			t.Errorf("it ended with %d", code)
		}
	}
	if _, err := os.Stat(filepath.Join(home, "Documents", homeShelf)); err != nil {
		t.Error(err)
	}
}

// TestHomeTrouble: what stops a program that nobody sees printing is shown as a page.
func TestHomeTrouble(t *testing.T) {
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_CONFIG_HOME", home)
	t.Setenv("TMPDIR", home)
	shelf := filepath.Join(home, "Documents", homeShelf)
	if err := os.MkdirAll(shelf, 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(shelf, "letter.txt"), nil, 0o666); err != nil { // it is somebody's, and no shelf
		t.Fatal(err)
	}
	var shown string
	if code := runHome(context.Background(), strings.NewReader(""), io.Discard, io.Discard, func(at string) { shown = at }); code == done {
		t.Error("it ran")
	}
	page, err := os.ReadFile(shown)
	if err != nil || !strings.Contains(string(page), homeShelf) {
		t.Errorf("%s: %v: %s", shown, err, page)
	}
}
