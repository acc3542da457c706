package desk

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
)

// benchTune is a desk with the example of 32 bars, and who was let in.
func benchTune(b *testing.B) (*Desk, string, func(path string) *httptest.ResponseRecorder) {
	b.Helper()
	s := newShelf(b)
	d := newDesk(b, s, Config{})
	taken, err := s.Take(context.Background(), []string{filepath.Join(sharedtest.Root(), "examples", "lantern.abc")}, gradatim.TakeOptions{})
	if err != nil || taken[0].Tune == "" {
		b.Fatal(err, taken)
	}
	h := d.Handler()
	get := func(path string) *httptest.ResponseRecorder {
		b.Helper()
		r := httptest.NewRequest("GET", "http://localhost"+path, nil)
		r.AddCookie(&http.Cookie{Name: cookieName, Value: d.gate.token()})
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatal(path, w.Code, w.Body.String())
		}
		return w
	}
	return d, taken[0].Tune, get
}

// BenchmarkSound is the first sound of some bars: until all of it has come.
func BenchmarkSound(b *testing.B) {
	for _, bars := range []int{1, 4, 32} {
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			d, tune, get := benchTune(b)
			path := fmt.Sprintf("/tunes/%s/sound.wav?level=5&from=1&to=%d", tune, bars)
			get(path)
			for b.Loop() {
				d.heard = newSounds()
				get(path)
			}
		})
	}
}

var (
	_ = url.Values{}
	_ = os.Args
	_ = strings.Cut
)
