package desk

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// Each letter that works begins a word that stands on the screen, in each language, and no
// two keys are one.
func TestKeysAreOfWords(t *testing.T) {
	on := map[string]string{"help": "nav.keys", "search": "tunes.find", "stop": "listen.stop", "compare": "listen.compare", "undo": "history.undo", "redo": "history.redo"}
	for _, id := range words.Languages() {
		d := &Desk{words: words.Must(id)}
		var used []string
		for _, k := range d.keys() {
			if slices.Contains(used, k.Key) {
				t.Errorf("%s: %q is two keys", id, k.Key)
			}
			used = append(used, k.Key)
			if k.Key == " " || strings.HasPrefix(k.Key, "Arrow") {
				continue
			}
			word := d.say(on[k.Do])
			if on[k.Do] == "" || !strings.HasPrefix(strings.ToLower(word), k.Key) || len(k.Key) != 1 {
				t.Errorf("%s: %q for %q, which reads %q", id, k.Key, k.Do, word)
			}
		}
	}
}

func TestBarsAreCountedAsPrinted(t *testing.T) {
	d := &Desk{words: words.Must(words.Default)}
	for _, tt := range []struct{ got, want string }{
		{d.inBars(0, 0), "the pick-up"}, {d.inBars(4, 4), "bar 4"}, {d.barsText(0, 4), "The pick-up and bars 1–4"},
		{d.inBars(5, 1), "from bar 5 on"}, {d.barList([]int{0, 2, 3, 4, 9}), "the pick-up and bars 2–4 and 9"},
		{d.barList([]int{1, 3, 5, 7, 9, 11, 13, 15, 17}), "bars 1, 3, 5, 7, 9, 11, 13 and 15 and more"},
	} {
		if tt.got != tt.want {
			t.Errorf("%q, want %q", tt.got, tt.want)
		}
	}
}

// What one version has and the other has not gets a ring, and nothing else.
func TestRings(t *testing.T) {
	note := func(id string, at theory.Dur, pitch string) score.Note {
		p, err := theory.ParsePitch(pitch)
		if err != nil {
			t.Fatal(err)
		}
		return score.Note{ID: id, Hand: score.Left, At: at, Dur: theory.Quarter, Pitch: p}
	}
	bars := []score.Bar{{Number: 1, Dur: theory.Whole}}
	a := score.Score{Bars: bars, Notes: []score.Note{note("x", 0, "C3"), note("y", theory.Quarter, "E3")}}
	b := score.Score{Bars: bars, Notes: []score.Note{note("p", 0, "C3"), note("q", theory.Quarter, "F3"), note("r", theory.Quarter, "F3")}}
	got := changedNotes(a, b)
	if len(got) != 2 || !got["q"] || !got["r"] {
		t.Errorf("%v", got)
	}
	engraves(t)
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	r.choose(id, 0, 2, 1, "Cm")
	st, err := r.desk.state(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	was, err := r.desk.at(t.Context(), st, 0)
	if err != nil {
		t.Fatal(err)
	}
	old, _, err := pageOf(t.Context(), was, 2)
	if err != nil {
		t.Fatal(err)
	}
	others := len(changedNotes(old.Score, r.page(id, 2).Score)) // all in bar 1
	if others == 0 {
		t.Fatal("the chord changes no note")
	}
	for q, want := range map[string]int{"": 0, "&beside=0": others, "&beside=1": 0} {
		if n := strings.Count(r.get("/tunes/"+id+"/page.svg?level=2&from=0&to=2&at=1&ids=m0-"+q, http.StatusOK).Text, `class="ring"`); n != want {
			t.Errorf("%q: %d rings, want %d", q, n, want)
		}
	}
}

// A level is printed by itself.
func TestPrint(t *testing.T) {
	engraves(t)
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	for _, page := range []string{"whole", "listen?level=2", "lesson"} {
		if a := r.get("/tunes/"+id+"/"+page, http.StatusOK); !regexp.MustCompile(`href="/tunes/` + id + `/print/2.pdf"`).MatchString(a.Text) {
			t.Errorf("%s has no link to print level 2", page)
		}
	}
	a := r.get("/tunes/"+id+"/print/2.pdf", http.StatusOK)
	if a.Header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(a.Text, "%PDF-") {
		t.Errorf("%s, %.20q", a.Header.Get("Content-Type"), a.Text)
	}
	for _, page := range []string{"0.pdf", "9.pdf", "2", "x.pdf"} {
		r.get("/tunes/"+id+"/print/"+page, http.StatusNotFound)
	}
}

// What is to be done before publishing is told as what can be done here, not as an error in
// a file that the reader has not.
func TestMissingInPlainWords(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	a := r.get("/tunes/"+id+"/lesson", http.StatusOK)
	a.wants(t, "To do before publishing", "fill in the page Rights", `href="/tunes/`+id+`/rights"`)
	for _, s := range []string{".toml", "Error", "status ="} {
		if strings.Contains(a.Text, s) {
			t.Errorf("the page of the lesson says %q", s)
		}
	}
}

// Two slips of a sheet are told once each, and the likely chord is a press away, without
// script as well.
func TestSlipsAreToldOnce(t *testing.T) {
	engraves(t)
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	bad := strings.Replace(ferryLamp, `"Em"e d B G`, `"Emqq"e d B`, 1)
	a := r.post("/tunes/"+id+"/sheet", url.Values{"text": {bad}, "do": {"look"}}, http.StatusOK)
	a.wants(t, "bar-doubtful", "Short by one quarter. ", "Make it Em")
	if n := strings.Count(a.Text, "<pre>"); n != 1 || strings.Contains(a.Text, "bar-short") || strings.Contains(a.Text, "% likely") {
		t.Errorf("the line stands %d times:\n%s", n, a.Text)
	}
	m := regexp.MustCompile(`class="mend make"><input type="hidden" name="text" value="([^"]*)"`).FindStringSubmatch(a.Text)
	if m == nil {
		t.Fatal("no button for the chord")
	}
	text := html.UnescapeString(m[1])
	if text != strings.Replace(bad, "Emqq", "Em", 1) {
		t.Errorf("it would write\n%s", text)
	}
	if a = r.post("/tunes/"+id+"/sheet", url.Values{"text": {text}, "do": {"look"}}, http.StatusOK); strings.Contains(a.Text, "Make it") {
		t.Error("the chord is still not known")
	}
}

// A shelf that can only be looked at is seen and heard, every page says why, and nothing
// that would write is done.
func TestReadOnly(t *testing.T) {
	at, err := gradatim.ParseShelfPlace(t.TempDir()+"/shelf", "", false)
	if err != nil {
		t.Fatal(err)
	}
	ctx := t.Context()
	s, err := gradatim.CreateShelf(ctx, at, gradatim.ShelfConfig{})
	if err != nil {
		t.Fatal(err)
	}
	r := &reader{t: t, shelf: s, desk: newDesk(t, s, Config{})}
	r.serve()
	id := r.add(ferryLamp)
	r.choose(id, 0, 2, 1, "Cm")
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	looked, err := gradatim.OpenShelf(ctx, at, gradatim.ShelfConfig{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer looked.Close()
	d := newDesk(t, looked, Config{ReadOnly: "it is of a newer release"})
	r = &reader{t: t, shelf: looked, desk: d}
	r.serve()
	for _, page := range []string{"/", "/tunes/" + id, "/tunes/" + id + "/whole", "/tunes/" + id + "/plan", "/tunes/" + id + "/bar/1?level=2", "/tunes/" + id + "/listen", "/tunes/" + id + "/history", "/tunes/" + id + "/rights", "/tunes/" + id + "/lesson"} {
		r.get(page, http.StatusOK).wants(t, "and not changed: it is of a newer release.")
	}
	for _, x := range d.routes() {
		if !strings.HasPrefix(x.pattern, "POST ") || slices.Contains(harmless, x.pattern) {
			continue
		}
		path := strings.NewReplacer("{tune}", id, "{bar}", "1", "{run}", "x").Replace(strings.TrimPrefix(x.pattern, "POST "))
		r.post(path, url.Values{"text": {ferryLamp}, "do": {"keep"}, "version": {"1"}, "seen": {"1"}}, http.StatusConflict).wants(t, "shelf-readonly")
	}
	if rs, err := looked.History(ctx, id, gradatim.ChoicesHistory); err != nil || len(rs) != 1 {
		t.Errorf("%d entries of the history, %v", len(rs), err)
	}
}
