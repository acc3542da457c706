package desk

import (
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"gradatim"
)

// A short tune of our own, with a pick-up.
const ferryLamp = `X:1
T:Ferry Lamp
C:written for the tests
M:4/4
L:1/4
Q:1/4=120
K:G
D|"G"G B d>B|"Em"e d B G|"C"E G c E|"D7"F A d D|
"G"G B d>B|"Em"e d B G|"Am"A c "D7"B A|"G"G3||
`

// reader is a browser without script at a desk on a shelf of its own.
type reader struct {
	t     *testing.T
	desk  *Desk
	shelf *gradatim.Shelf
	http  *http.Client
	base  string
}

func newShelf(t testing.TB) *gradatim.Shelf {
	t.Helper()
	at, err := gradatim.ParseShelfPlace(t.TempDir()+"/shelf", "", false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := gradatim.CreateShelf(context.Background(), at, gradatim.ShelfConfig{Author: "tester"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func newDesk(t testing.TB, s *gradatim.Shelf, cfg Config) *Desk {
	t.Helper()
	cfg.Shelf = s
	d, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := d.Close(); err != nil {
			t.Error(err)
		}
	})
	return d
}

// atDesk is a reader who was let in.
func atDesk(t *testing.T, cfg Config) *reader {
	t.Helper()
	s := newShelf(t)
	r := &reader{t: t, shelf: s, desk: newDesk(t, s, cfg)}
	r.serve()
	return r
}

// serve starts the desk and lets the reader in.
func (r *reader) serve() {
	srv := httptest.NewServer(r.desk.Handler())
	r.t.Cleanup(srv.Close)
	jar, _ := cookiejar.New(nil)
	r.http, r.base = &http.Client{Jar: jar}, srv.URL
	if r.desk.gate.password == "" {
		r.get("/enter?key="+r.desk.Key(), http.StatusOK)
	}
}

// answer is what came back, after redirects.
type answer struct {
	*http.Response
	Text string
}

func (r *reader) get(path string, status int) answer {
	r.t.Helper()
	res, err := r.http.Get(r.base + path)
	return r.read(res, err, status)
}

func (r *reader) post(path string, form url.Values, status int) answer {
	r.t.Helper()
	res, err := r.http.PostForm(r.base+path, form)
	return r.read(res, err, status)
}

func (r *reader) read(res *http.Response, err error, status int) answer {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	if res.StatusCode != status {
		r.t.Fatalf("%s answers %d, not %d:\n%s", res.Request.URL, res.StatusCode, status, b)
	}
	return answer{res, string(b)}
}

// add puts a sheet on the shelf through the desk and returns the tune's id.
func (r *reader) add(sheet string) string {
	r.t.Helper()
	a := r.post("/tunes", url.Values{"text": {sheet}}, http.StatusOK)
	id, ok := strings.CutPrefix(strings.TrimSuffix(a.Request.URL.Path, "/whole"), "/tunes/")
	if !ok {
		r.t.Fatalf("added, and at %s:\n%s", a.Request.URL, a.Text)
	}
	return id
}

func (a answer) wants(t *testing.T, texts ...string) {
	t.Helper()
	for _, s := range texts {
		if !strings.Contains(a.Text, s) {
			t.Errorf("%s has no %q:\n%s", a.Request.URL, s, a.Text)
		}
	}
}

func TestAdd(t *testing.T) {
	r := atDesk(t, Config{})
	r.get("/", http.StatusOK).wants(t, "The shelf is empty")
	r.post("/tunes", url.Values{}, http.StatusUnprocessableEntity).wants(t, "Nothing was handed in")
	r.post("/tunes", url.Values{"text": {"not a sheet"}}, http.StatusUnprocessableEntity).wants(t, "None of it could be read", ">not a sheet</textarea>", `data-code="`)
	a := r.post("/tunes", url.Values{"text": {ferryLamp}}, http.StatusOK)
	a.wants(t, "Ferry Lamp", "The tune is on the shelf.", "Level 5, advanced")
	r.post("/tunes", url.Values{"text": {ferryLamp}}, http.StatusOK).wants(t, "was on the shelf already")
	r.post("/tunes", url.Values{"text": {ferryLamp + "\nX:2\nT:Second Lamp\nM:4/4\nL:1/4\nK:C\n\"C\"CDEF|GABc|cBAG|FEDC|]\n"}}, http.StatusOK).wants(t, "Second Lamp", "was there already")
	r.get("/", http.StatusOK).wants(t, "2 tunes", "Ferry Lamp", "Second Lamp")
	r.get("/?q=ferry", http.StatusOK).wants(t, "1 tune<")
	r.get("/?q=bars%3Amany", http.StatusUnprocessableEntity).wants(t, "shelf-query", `value="bars:many"`)
	r.get("/?key=G&bars=8-12&incipit=G+C+E", http.StatusOK).wants(t, "1 tune<", `value="8-12"`, "<details class=\"precise\" open>")
	r.get("/?key=F&metre=4/4", http.StatusOK).wants(t, "0 tunes")
	r.get("/?bars=many", http.StatusUnprocessableEntity).wants(t, "shelf-query")
	r.get("/?only=built", http.StatusOK).wants(t, "0 tunes")
}

// What a file is called can stand in a folder of any system. Source of what Windows refuses:
// Microsoft, Naming Files, Paths, and Namespaces.
func TestPlainName(t *testing.T) {
	for name, want := range map[string]string{"a.abc": "a.abc", `C:\Tunes\b.mid`: "b.mid", "../../c.abc": "c.abc", "What? 3:4.abc": "What_ 3_4.abc", "CON.abc": "sheet-CON.abc", "lpt1": "sheet-lpt1",
		"console.abc": "console.abc", "dot.": "dot", "sp ace. ": "sp ace", "...": "sheet", "": "sheet", "tab\tname.xml": "tab_name.xml"} {
		if got := plainName(name); got != want {
			t.Errorf("%q: %q, not %q", name, got, want)
		}
	}
}

func TestNothingThere(t *testing.T) {
	r := atDesk(t, Config{})
	r.get("/nowhere", http.StatusNotFound).wants(t, "There is nothing at this address")
	if a := r.get("/tunes/ffffffffffffffff", http.StatusNotFound); strings.Contains(a.Text, "shelf list") {
		t.Errorf("a command for a terminal is told:\n%s", a.Text)
	}
	if f := r.desk.fix("give --key, or --key easy"); f != "It is set in the plan, under Key of the pages" {
		t.Error(f)
	}
}
