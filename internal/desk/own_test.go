package desk

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/BurntSushi/toml"

	"gradatim"
)

// own is the lesson file as it stands on the shelf.
func (r *reader) own(id string) string {
	r.t.Helper()
	data, _, err := r.shelf.Current(r.t.Context(), id, ownHistory)
	if err != nil {
		r.t.Fatal(err)
	}
	return string(data)
}

// A teacher's words stand in fields; two windows keep what each has written; a file that is
// wrong is not kept, and what was typed stays in the page.
func TestOwnWords(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(twoParts)
	page := r.get("/tunes/"+id+"/lesson", http.StatusOK)
	page.wants(t, `name="own-introduction"`, `name="own-levels.2.words"`, `name="own-notes.B"`)
	seen := page.field(t, "seen")
	form := func(more ...string) url.Values {
		v := url.Values{"seen": {seen}, "do": {"fields"}}
		for i := 0; i < len(more); i += 2 {
			v.Set("own-"+more[i], more[i+1])
		}
		return v
	}
	r.post("/tunes/"+id+"/own", form("introduction", "Welcome.\r\n\r\n*Sing* first.", "levels.2.words", ""), http.StatusOK).wants(t, "Kept. The next lesson has it.", "*Sing* first.")
	r.post("/tunes/"+id+"/own", form("sections.A", `He said "softly"`, "introduction", ""), http.StatusOK) // of a window that has not seen it
	var file struct {
		Introduction string
		Sections     map[string]string
	}
	if _, err := toml.Decode(r.own(id), &file); err != nil || file.Introduction != "Welcome.\n\n*Sing* first." || file.Sections["A"] != `He said "softly"` {
		t.Errorf("%v: %s", err, r.own(id))
	}
	before := r.own(id)
	bad := r.post("/tunes/"+id+"/own", url.Values{"seen": {"2"}, "do": {"file"}, "file": {"studio = \"x\"\norder = [77]\n"}}, http.StatusUnprocessableEntity)
	bad.wants(t, "That was not kept", "imprint-level", "order = [77]")
	r.post("/tunes/"+id+"/own", url.Values{"seen": {"1"}, "do": {"file"}, "file": {"studio = \"late\"\n"}}, http.StatusConflict).wants(t, "studio = &#34;late&#34;")
	if r.own(id) != before {
		t.Errorf("kept all the same: %s", r.own(id))
	}
	r.post("/tunes/"+id+"/own", url.Values{"seen": {"2"}, "do": {"file"}, "file": {"look = { accent = \"#123456\" }\n"}}, http.StatusOK)
	seen = "3"
	r.post("/tunes/"+id+"/own", form("studio", "Lindenhof"), http.StatusOK)
	if got := r.own(id); !strings.Contains(got, "#123456") || !strings.Contains(got, "Lindenhof") {
		t.Errorf("what has no field is lost: %s", got)
	}
}

// A lesson is looked at before it is made: with her words, by an address that lets in
// nobody else, and as a stranger to the desk.
func TestPreview(t *testing.T) {
	engraves(t)
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	r.post("/tunes/"+id+"/own", url.Values{"seen": {"0"}, "do": {"fields"}, "own-introduction": {"Begin with the lamp."}}, http.StatusOK)
	page := r.post("/tunes/"+id+"/preview", url.Values{"level": {"1"}}, http.StatusOK)
	at := page.Request.URL.Path
	for end := time.Now().Add(2 * time.Minute); page.Header.Get("Refresh") != ""; page = r.get(at, http.StatusOK) {
		if time.Now().After(end) {
			t.Fatal(page.Text)
		}
	}
	page.wants(t, "<iframe", "workbook.pdf")
	if again := r.post("/tunes/"+id+"/preview", url.Values{"level": {"1"}}, http.StatusOK); again.Request.URL.Path != at {
		t.Error("the same is made twice")
	}
	site := regexp.MustCompile(`/look/[A-Z0-9]+/`).FindString(page.Text)
	stranger := r.stranger() // as a page in a sandbox, which has no cookie
	first := stranger.get(site+"index.html", http.StatusOK)
	first.wants(t, "Begin with the lamp.")
	if h := first.Header; !strings.HasPrefix(h.Get("Content-Security-Policy"), "sandbox allow-scripts") || strings.Contains(h.Get("Content-Security-Policy"), "allow-same-origin") || h.Get("Cross-Origin-Opener-Policy") != "" {
		t.Errorf("%v", h)
	}
	if pdf := stranger.get(site+"workbook.pdf", http.StatusOK); !strings.HasPrefix(pdf.Text, "%PDF-") || !strings.Contains(pdf.Header.Get("Content-Security-Policy"), "default-src 'none'") {
		t.Errorf("%.8q, %v", pdf.Text, pdf.Header)
	}
	stranger.get(site+"nothing.html", http.StatusNotFound)
	stranger.get("/look/AAAA/index.html", http.StatusNotFound)
	other := r.add(strings.Replace(ferryLamp, "Ferry Lamp", "Other Lamp", 1) + "G4|\n")
	r.get(strings.Replace(at, id, other, 1), http.StatusNotFound)
	r.get("/tunes/"+id+"/built/none", http.StatusNotFound)
}

func TestPreviewsAreFew(t *testing.T) {
	ps := newPreviews()
	var keys []string
	for i := range 3 * mostPreviews {
		k, there := ps.add(&preview{of: string(rune('a' + i))})
		if there {
			t.Error("one that is new is there")
		}
		keys = append(keys, k)
	}
	if len(ps.by) != mostPreviews || ps.get(keys[0]) != nil || ps.get(keys[len(keys)-1]) == nil {
		t.Errorf("%d are kept", len(ps.by))
	}
	p := ps.get(keys[len(keys)-1])
	if k, there := ps.add(&preview{of: p.of}); !there || k != keys[len(keys)-1] {
		t.Error("the same is kept twice")
	}
	p.ready(t.Context(), nil, nil, errNoPage)
	if _, there := ps.add(&preview{of: p.of}); there {
		t.Error("one that failed is not made again")
	}
}

// What a lesson's files are does not follow what a system says of their names.
func TestTypeOf(t *testing.T) {
	for name, want := range map[string]string{"index.html": "text/html; charset=utf-8", "a/B.PDF": "application/pdf", "x.js": "text/javascript; charset=utf-8", "x.exe": "application/octet-stream", "x": "application/octet-stream"} {
		if got := typeOf(name); got != want {
			t.Errorf("%s: %s", name, got)
		}
	}
	var _ gradatim.Store = (*kept)(nil)
}
