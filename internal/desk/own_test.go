package desk

import (
	"bytes"
	"image"
	"image/png"
	"mime/multipart"
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
	r.hand("/tunes/"+id+"/own-file", "mark.png", dot(t, 8, 8), http.StatusOK, "do", "logo")
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
	logo := regexp.MustCompile(`src="([^"]*logo\.png)"`).FindStringSubmatch(first.Text)
	if logo == nil {
		t.Fatal("the logo is not in the lesson")
	}
	if a := stranger.get(site+logo[1], http.StatusOK); a.Header.Get("Content-Type") != "image/png" || !strings.HasPrefix(a.Text, "\x89PNG") {
		t.Errorf("%s, %.8q", a.Header.Get("Content-Type"), a.Text)
	}
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

// hand hands a file in, as a form does; more are its other fields.
func (r *reader) hand(path, name string, data []byte, status int, more ...string) answer {
	r.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for i := 0; i < len(more); i += 2 {
		w.WriteField(more[i], more[i+1])
	}
	f, err := w.CreateFormFile("file", name)
	if err != nil {
		r.t.Fatal(err)
	}
	f.Write(data)
	w.Close()
	res, err := r.http.Post(r.base+path, w.FormDataContentType(), &b)
	return r.read(res, err, status)
}

// dot is a picture as PNG.
func dot(t *testing.T, wide, high int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, wide, high))); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A logo and a recording are what their bytes are, whatever they are called; a picture keeps
// nothing but its points; and what is taken out is named by the lesson file no more.
func TestOwnFiles(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	at := "/tunes/" + id + "/own-file"
	svg := []byte(`<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>`)
	mp3 := append([]byte("ID3\x04\x00"), make([]byte, 64)...)
	for _, c := range []struct {
		do, name string
		data     []byte
		code     string
	}{
		{"logo", "logo.png", svg, "desk-file"}, {"logo", "logo.svg", svg, "desk-file"}, {"logo", "wide.png", dot(t, logoWide+1, 1), "desk-file"}, {"logo", "empty.png", nil, "desk-file"},
		{"logo", "cut.png", dot(t, 8, 8)[:40], "desk-file"}, {"recording", "take.mp3", svg, "desk-file"}, {"recording", "take.wav", []byte("XXXX0000WAVE----"), "desk-file"},
		{"recording", "page.mp3", []byte("<html><script>alert(1)</script>"), "desk-file"},
	} {
		r.hand(at, c.name, c.data, http.StatusUnprocessableEntity, "do", c.do).wants(t, c.code)
	}
	if r.own(id) != "" {
		t.Fatalf("kept: %s", r.own(id))
	}
	r.hand(at, "x.jpg", append(dot(t, 8, 8), "<script>alert(1)</script>"...), http.StatusOK, "do", "logo").wants(t, "logo.png")
	r.hand(at, `..\..\My <Take>.exe`, mp3, http.StatusOK, "do", "recording", "title", `<b>Slow</b>`, "level", "2").wants(t, "&lt;b&gt;Slow&lt;/b&gt;")
	r.hand(at, `my take.mp3`, mp3, http.StatusOK, "do", "recording")
	var file struct {
		Logo  string
		Media []struct {
			File, Title string
			Level       int
		}
	}
	if _, err := toml.Decode(r.own(id), &file); err != nil || file.Logo != "logo.png" || len(file.Media) != 2 || file.Media[0].File != "my-take.mp3" || file.Media[0].Level != 2 || file.Media[1].File != "my-take-2.mp3" {
		t.Errorf("%v: %s", err, r.own(id))
	}
	st, err := r.desk.state(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	job, err := r.desk.lessonJob(t.Context(), st)
	if err != nil || len(job.Beside) != 3 || bytes.Contains(job.Beside[0].Data, []byte("script")) || !bytes.Equal(job.Beside[1].Data, mp3) {
		t.Errorf("%d files, %v", len(job.Beside), err)
	}
	if err := job.Check(); err != nil {
		t.Error(err)
	}
	// The words are kept beside them, and the whole goes away piece by piece.
	r.post("/tunes/"+id+"/own", url.Values{"seen": {"3"}, "do": {"fields"}, "own-studio": {"Lindenhof"}}, http.StatusOK)
	r.post(at, url.Values{"do": {"no-recording"}, "file": {"my-take.mp3"}}, http.StatusOK)
	r.post(at, url.Values{"do": {"no-logo"}}, http.StatusOK)
	if got := r.own(id); strings.Contains(got, "logo") || strings.Contains(got, `"my-take.mp3"`) || !strings.Contains(got, "my-take-2.mp3") || !strings.Contains(got, "Lindenhof") {
		t.Error(got)
	}
	r.post(at, url.Values{"do": {"nothing"}}, http.StatusNotFound)
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
