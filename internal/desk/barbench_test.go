package desk

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"gradatim"
	"gradatim/score"
)

// longTune is a tune of ours of so many bars, in eights.
func longTune(bars int) string {
	var b strings.Builder
	b.WriteString("X:1\nT:Long Ferry\nC:written for the tests\nM:4/4\nL:1/4\nQ:1/4=120\nK:G\n")
	for i := range bars / 8 {
		if i%2 == 0 {
			b.WriteString("\"G\"G B d B|\"Em\"e d B G|\"C\"E G c E|\"D7\"F A d D|\n\"G\"G B d>B|\"Em\"e d B G|\"Am\"A c \"D7\"B A|\"G\"G4|\n")
		} else {
			b.WriteString("\"C\"e c G E|\"G\"D G B d|\"Am\"c A E A|\"D7\"D F A c|\n\"C\"e c G E|\"G\"D G B d|\"Am\"c A \"D7\"F A|\"G\"G4|\n")
		}
	}
	return b.String()
}

// worst reports how long 95 of 100 take at most.
func worst(b *testing.B, took []time.Duration) {
	slices.Sort(took)
	if n := len(took); n > 0 {
		b.ReportMetric(float64(took[min(n-1, n*95/100)].Microseconds())/1000, "p95-ms")
	}
}

// BenchmarkTakeWay is from the press on a way until the bar has come as a picture: the change
// is arranged, judged, written on the shelf, and the bar engraved anew.
func BenchmarkTakeWay(b *testing.B) {
	for _, bars := range []int{32, 512} {
		b.Run(fmt.Sprintf("bars=%d/level=5", bars), func(b *testing.B) {
			d := newDesk(b, newShelf(b), Config{})
			h := d.Handler()
			ask := func(r *http.Request) *httptest.ResponseRecorder {
				r.AddCookie(&http.Cookie{Name: cookieName, Value: d.gate.token()})
				w := httptest.NewRecorder()
				h.ServeHTTP(w, r)
				if w.Code >= 400 && w.Code != http.StatusUnprocessableEntity { // what an earlier choice does not admit
					b.Fatal(r.URL, w.Code, w.Body.String())
				}
				return w
			}
			post := func(path string, form url.Values) *httptest.ResponseRecorder {
				r := httptest.NewRequest("POST", "http://localhost"+path, strings.NewReader(form.Encode()))
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				return ask(r)
			}
			at := post("/tunes", url.Values{"text": {longTune(bars)}}).Header().Get("Location")
			tune, _, _ := strings.Cut(strings.TrimPrefix(at, "/tunes/"), "?")
			if _, err := d.state(b.Context(), tune); err != nil {
				b.Fatal(err)
			}
			ask(httptest.NewRequest("GET", "http://localhost/tunes/"+tune+"/bar.svg?level=5&bar=1", nil)) // opens the engraver
			n := 0
			var took []time.Duration
			for b.Loop() {
				b.StopTimer() // another bar each time, so that nothing is there already
				n++
				bar := 2 + n%(bars-4)
				st, err := d.state(b.Context(), tune)
				if err != nil {
					b.Fatal(err)
				}
				ds, err := d.tunes.runnersUp(b.Context(), st.Session, 5, bar) // which the page has shown
				if err != nil {
					b.Fatal(err)
				}
				i := slices.IndexFunc(ds, func(x gradatim.Decision) bool { return x.Hand == score.Left && len(x.Runners) > 1 })
				if i < 0 {
					b.StartTimer()
					continue
				}
				b.StartTimer()
				pressed := time.Now()
				to := post(fmt.Sprintf("/tunes/%s/bar/%d", tune, bar), url.Values{"level": {"5"}, "seen": {fmt.Sprint(st.Version)}, "do": {"take"}, "way": {fmt.Sprintf("%d.1", i)}}).Header().Get("Location")
				if to != "" { // the page that shows it
					ask(httptest.NewRequest("GET", "http://localhost"+to, nil))
				}
				ask(httptest.NewRequest("GET", fmt.Sprintf("http://localhost/tunes/%s/bar.svg?level=5&bar=%d", tune, bar), nil))
				took = append(took, time.Since(pressed))
			}
			worst(b, took)
		})
	}
}

// BenchmarkWhole is the view of all levels, of a tune that lies open.
func BenchmarkWhole(b *testing.B) {
	b.Run("bars=32/levels=5", func(b *testing.B) {
		_, tune, get := benchTune(b)
		get("/tunes/" + tune + "/whole")
		var took []time.Duration
		for b.Loop() {
			asked := time.Now()
			get("/tunes/" + tune + "/whole")
			took = append(took, time.Since(asked))
		}
		worst(b, took)
	})
}
