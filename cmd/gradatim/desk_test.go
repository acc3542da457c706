package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"path/filepath"
	"strings"
	"testing"

	"gradatim"
)

// TestDesk starts the desk as a person does, comes in by the address that it prints, and
// ends it.
func TestDesk(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	t.Setenv("HOME", t.TempDir())
	shelf := filepath.Join(t.TempDir(), "shelf")
	at, err := gradatim.ParseShelfPlace(shelf, "", false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := gradatim.CreateShelf(context.Background(), at, gradatim.ShelfConfig{})
	if err != nil {
		t.Fatal(err)
	}
	s.Close()
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out, w := io.Pipe()
	in, again := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, []string{"desk", "--shelf", shelf, "--addr", "127.0.0.1:0", "--no-browser"}, in, w, io.Discard)
		w.Close()
	}()
	lines := bufio.NewScanner(out)
	enter := func() {
		t.Helper()
		if !lines.Scan() {
			t.Fatalf("nothing is printed; it ended with %d", <-ended)
		}
		_, address, ok := strings.Cut(lines.Text(), "http://")
		if !ok {
			t.Fatalf("%q has no address", lines.Text())
		}
		jar, _ := cookiejar.New(nil)
		c := &http.Client{Jar: jar}
		res, err := c.Get("http://" + address)
		if err != nil {
			t.Fatal(err)
		}
		defer res.Body.Close()
		text, _ := io.ReadAll(res.Body)
		if !strings.Contains(string(text), "The shelf is empty") {
			t.Errorf("%s shows %s", address, text)
		}
	}
	enter()
	io.WriteString(again, "\n") // another address
	enter()
	stop()
	if code := <-ended; code != done {
		t.Errorf("it ended with %d", code)
	}
}

// What others can reach is refused without a certificate and a password.
func TestDeskElsewhere(t *testing.T) {
	for _, args := range [][]string{
		{"--addr", "0.0.0.0:0"}, {"--addr", "192.0.2.1:80"}, {"--addr", "desk.example:80"}, {"--addr", ":8080"},
		{"--addr", "0.0.0.0:0", "--tls-cert", "a.pem"}, {"--addr", "0.0.0.0:0", "--tls-cert", "a.pem", "--tls-key", "b.pem"}, {"--addr", "nonsense"},
	} {
		var out, errs strings.Builder
		if code := run(context.Background(), append([]string{"desk", "--shelf", t.TempDir(), "--no-browser"}, args...), strings.NewReader(""), &out, &errs); code != misused {
			t.Errorf("%v: %d: %s%s", args, code, out.String(), errs.String())
		}
	}
}
