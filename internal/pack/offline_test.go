package pack_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"

	"gradatim/internal/pack"
	"gradatim/internal/sharedtest/browser"
)

// TestOffline: over HTTP a lesson is kept by its service worker (W3C, Service Workers) when
// it was opened once, and every page of it opens when the server has gone; nothing of sound
// is fetched for that. The version changes with the lesson.
func TestOffline(t *testing.T) {
	dir, _ := sounding(t)
	var sound atomic.Int64
	files := http.FileServer(http.Dir(dir))
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, "/sound/") {
			sound.Add(1)
		}
		files.ServeHTTP(w, r)
	}))
	defer srv.Close()
	b := browser.Open(t)
	b.Open(srv.URL+"/index.html", 1200)
	browser.Eval[bool](b, `navigator.serviceWorker.ready.then(() => true)`)
	b.Wait(`navigator.serviceWorker.controller`)
	srv.CloseClientConnections()
	srv.Close()
	for _, page := range []string{"level-3.html", "level-1-chords.html", "glossary.html", "level-3-practice.html", ""} {
		if err := chromedp.Do(b.Ctx, chromedp.Navigate(srv.URL+"/"+page)); err != nil {
			t.Fatalf("%q: %v", page, err)
		}
		if !browser.Eval[bool](b, `document.querySelector("main h1") !== null && getComputedStyle(document.querySelector("main")).maxWidth !== "none"`) {
			t.Errorf("%q does not open without the server", page)
		}
	}
	if n := sound.Load(); n > 0 {
		t.Errorf("%d requests for sound before anything was played", n)
	}
	one := tree(t, dir)["sw.js"]
	other := t.TempDir() + "/lesson"
	in := inputOf(t, read(t, strings.Replace(ferryLamp, "Ferry Lamp", "Ferry Light", 1)), "1")
	build(t, other, in, pack.Options{})
	two := tree(t, other)["sw.js"]
	version := func(code string) string { v, _, _ := strings.Cut(code, "\n"); return v }
	if version(one) == version(two) || !strings.HasPrefix(one, "const version = ") || strings.Contains(one, "teacher") || strings.Contains(version(one), ".mp3") {
		t.Errorf("versions %s and %s", version(one), version(two))
	}
}
