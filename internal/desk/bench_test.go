package desk

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
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

// BenchmarkChange is what a change costs until the bar that was changed is engraved anew:
// searched again, written into the history, drawn. The changes are two chords by turns, so
// that none is what was there.
func BenchmarkChange(b *testing.B) {
	for _, bars := range []int{32, 512} {
		b.Run(fmt.Sprintf("bars=%d/level=5", bars), func(b *testing.B) {
			d, tune := benchDesk(b, bars)
			ctx := context.Background()
			st, err := d.state(ctx, tune)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := st.Session.Ladder(ctx); err != nil {
				b.Fatal(err)
			}
			version := st.Version
			n := 0
			for b.Loop() {
				n++
				bar := 1 + n%24
				o, err := d.change(ctx, tune, version, "bench", func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
					return s.Change(ctx, gradatim.Choice{Level: 5, Bar: bar, Chord: []string{"Gm7", "C9", "Fmaj7"}[n%3]})
				})
				if err != nil {
					b.Fatal(err)
				}
				version = o.Version
				if st, err = d.state(ctx, tune); err != nil {
					b.Fatal(err)
				}
				p, ok, err := pageOf(ctx, st.Session, 5)
				if err != nil || !ok {
					b.Fatal(err)
				}
				if _, err := d.draw(ctx, p.Score, gradatim.Layout{From: bar, To: bar, OneSystem: true}, ""); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// benchDesk is a desk with the example of 32 bars, as often as it takes.
func benchDesk(b *testing.B, bars int) (*Desk, string) {
	b.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", "lantern.abc"))
	if err != nil {
		b.Fatal(err)
	}
	head, tune, _ := strings.Cut(string(data), "K:F\n")
	tune = strings.TrimSuffix(strings.TrimSpace(tune), "|]")
	pick, rest, _ := strings.Cut(tune, "|")
	all := head + "K:F\n" + pick
	for range bars / 32 {
		all += "|" + rest
	}
	all = strings.Replace(all, "N:form AABA, written out\n", "", 1)
	file := filepath.Join(b.TempDir(), "long.abc")
	if err := os.WriteFile(file, []byte(all+"|]\n"), 0o600); err != nil {
		b.Fatal(err)
	}
	s := newShelf(b)
	d := newDesk(b, s, Config{})
	taken, err := s.Take(context.Background(), []string{file}, gradatim.TakeOptions{})
	if err != nil || taken[0].Tune == "" {
		b.Fatal(err, taken)
	}
	return d, taken[0].Tune
}
