package desk

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"runtime"
	"runtime/pprof"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"gradatim"
	"gradatim/assets"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// choose fixes a chord as a window does that has seen a version.
func (r *reader) choose(id string, seen, level, bar int, chord string) outcome {
	r.t.Helper()
	o, err := r.desk.change(context.Background(), id, seen, fmt.Sprintf("Level %d, bar %d: chord %s", level, bar, chord), func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
		return s.Change(ctx, gradatim.Choice{Level: level, Bar: bar, Chord: chord})
	})
	if err != nil {
		r.t.Fatal(err)
	}
	return o
}

func (r *reader) choices(id string) string {
	r.t.Helper()
	data, _, err := r.shelf.Current(context.Background(), id, gradatim.ChoicesHistory)
	if err != nil {
		r.t.Fatal(err)
	}
	return string(data)
}

// field is what a form of the page has in a field.
func (a answer) field(t *testing.T, name string) string {
	t.Helper()
	m := regexp.MustCompile(`name="` + name + `" value="([^"]*)"`).FindStringSubmatch(a.Text)
	if m == nil {
		t.Fatalf("%s has no field %s", a.Request.URL, name)
	}
	return m[1]
}

// Two windows on one tune lose nothing: other bars, both hold; the same bars, the first
// holds, and the other stands in the history and can be put in its place.
func TestTwoWindows(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	if o := r.choose(id, 0, 2, 1, "G6"); o.Version != 1 || o.how() != "changed" {
		t.Fatalf("%+v", o)
	}
	if o := r.choose(id, 0, 2, 3, "C6"); o.Version != 2 || o.how() != "merged" {
		t.Errorf("other bars: %+v", o)
	}
	if c := r.choices(id); !strings.Contains(c, "G6") || !strings.Contains(c, "C6") {
		t.Errorf("one is lost:\n%s", c)
	}
	if o := r.choose(id, 0, 3, 1, "G6"); o.how() != "merged" {
		t.Errorf("the same bar of another level: %+v", o)
	}
	o := r.choose(id, 2, 3, 1, "Gmaj7")
	if o.how() != "kept" || o.Kept != 4 || o.Version != 5 {
		t.Errorf("the same bar: %+v", o)
	}
	if c := r.choices(id); strings.Contains(c, "Gmaj7") {
		t.Errorf("the second has taken the place of the first:\n%s", c)
	}
	r.post("/tunes/"+id+"/redo", url.Values{"version": {"5"}}, http.StatusOK).wants(t, "Redone.")
	if c := r.choices(id); !strings.Contains(c, "Gmaj7") {
		t.Errorf("the second cannot be had again:\n%s", c)
	}
}

// Taking back and having again go over a restart, since they stand on the shelf.
func TestUndoOverDays(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	for i, chord := range []string{"G6", "Gmaj7", "Gsus4"} {
		r.choose(id, i, 2, 1, chord)
	}
	r.desk = newDesk(t, r.shelf, Config{}) // another day
	page := r.get("/tunes/"+id+"/history", http.StatusOK)
	page.wants(t, "Level 2, bar 1: chord Gsus4", "Level 2, bar 1: chord Gmaj7", "As it is now:")
	page = r.post("/tunes/"+id+"/undo", url.Values{"version": {page.field(t, "version")}}, http.StatusOK)
	page.wants(t, "Undone.")
	r.post("/tunes/"+id+"/undo", url.Values{"version": {"3"}}, http.StatusOK).wants(t, "Another window has changed this tune meanwhile")
	for range 2 {
		page = r.post("/tunes/"+id+"/undo", url.Values{"version": {page.field(t, "version")}}, http.StatusOK)
	}
	if c := r.choices(id); c != "" {
		t.Errorf("all is taken back, and there is\n%s", c)
	}
	r.post("/tunes/"+id+"/undo", url.Values{"version": {page.field(t, "version")}}, http.StatusOK).wants(t, "nothing more")
	page = r.post("/tunes/"+id+"/redo", url.Values{"version": {page.field(t, "version")}}, http.StatusOK)
	if c := r.choices(id); !strings.Contains(c, "G6") {
		t.Errorf("had again:\n%s", c)
	}
	r.post("/tunes/"+id+"/back", url.Values{"version": {page.field(t, "version")}, "to": {"3"}}, http.StatusOK)
	if c := r.choices(id); !strings.Contains(c, "Gsus4") {
		t.Errorf("gone back to version 3:\n%s", c)
	}
	r.post("/tunes/"+id+"/name", url.Values{"of": {"2"}, "name": {`For <Mia> "soft"`}}, http.StatusOK).wants(t, "For &lt;Mia&gt;", "Versions with a name")
	r.get("/tunes/"+id+"/compare?a=1&b=3&level=2", http.StatusOK).wants(t, "differs", "page.svg?level=2&amp;from=")
	r.get("/tunes/"+id+"/compare?a=3&b=3&level=2", http.StatusOK).wants(t, "note for note")
	r.post("/tunes/"+id+"/undo", url.Values{"version": {"x"}}, http.StatusNotFound)
}

func TestBackIsOurs(t *testing.T) {
	for to, want := range map[string]string{"/tunes/a/listen?from=2#x": "/tunes/a/listen?from=2&told=t#x", "//evil.example/tunes/": "/tunes/z?told=t", "https://evil.example/tunes/a": "/tunes/z?told=t",
		"javascript:alert(1)": "/tunes/z?told=t", "": "/tunes/z?told=t", "/tunes/a?told=added": "/tunes/a?told=t", "/%zz": "/tunes/z?told=t"} {
		req, _ := http.NewRequest("POST", "/", strings.NewReader(url.Values{"back": {to}}.Encode()))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		if got := back(req, "/tunes/z", "t"); got != want {
			t.Errorf("%q leads to %q, not %q", to, got, want)
		}
	}
}

func TestSheet(t *testing.T) {
	engraves(t)
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	page := r.get("/tunes/"+id+"/sheet", http.StatusOK)
	page.wants(t, "T:Ferry Lamp", `src="/drawn/`, "8 bars and a pick-up")
	seen := page.field(t, "seen")
	picture := regexp.MustCompile(`/drawn/[0-9a-f]+/0`).FindString(page.Text)
	r.get(picture, http.StatusOK).wants(t, "<svg")
	bad := strings.Replace(ferryLamp, `"Em"e d B G|"C"`, `"Emqq"e d B G G|"C"`, 1)
	r.post("/tunes/"+id+"/look", url.Values{"text": {bad}}, http.StatusOK).wants(t, "chord-unknown", "Line", "Emqq")
	r.post("/tunes/"+id+"/look", url.Values{"text": {"nothing"}}, http.StatusOK).wants(t, "cannot be read")
	r.post("/tunes/"+id+"/sheet", url.Values{"do": {"look"}, "text": {bad}, "seen": {seen}}, http.StatusOK).wants(t, "Emqq", `value="`+seen+`"`)
	r.post("/tunes/"+id+"/sheet", url.Values{"do": {"keep"}, "text": {"nothing"}, "seen": {seen}}, http.StatusUnprocessableEntity).wants(t, "cannot be read", ">nothing\n</textarea>")
	one := strings.Replace(ferryLamp, `"C"E G c E`, `"C"E G c2`, 1)
	r.post("/tunes/"+id+"/sheet", url.Values{"do": {"keep"}, "text": {one}, "seen": {seen}}, http.StatusOK).wants(t, "The sheet is kept", "E G c2")
	// Another window, that has seen the first sheet: another bar, then the same.
	two := strings.Replace(ferryLamp, `"Am"A c "D7"B A`, `"Am"A2 "D7"B A`, 1)
	r.post("/tunes/"+id+"/sheet", url.Values{"do": {"keep"}, "text": {two}, "seen": {seen}}, http.StatusOK).wants(t, "both changes hold", "E G c2", "A2 &#34;D7")
	three := strings.Replace(ferryLamp, `"C"E G c E`, `"C"E4`, 1)
	r.post("/tunes/"+id+"/sheet", url.Values{"do": {"keep"}, "text": {three}, "seen": {seen}}, http.StatusOK).wants(t, "Its change stays", "E G c2")
	r.get("/tunes/"+id+"/history", http.StatusOK).wants(t, "put aside: the sheet")
}

func TestMergeBars(t *testing.T) {
	base := "K:C\nCDEF|GABc|cBAG|FEDC|\n"
	for _, c := range []struct {
		a, b, want string
		ok         bool
	}{
		{"K:C\nC4|GABc|cBAG|FEDC|\n", "K:C\nCDEF|GABc|c4|FEDC|\n", "K:C\nC4|GABc|c4|FEDC|\n", true},
		{"K:C\nCDEF|GABc|c4|FEDC|\n", "K:C\nC4|GABc|cBAG|FEDC|\n", "K:C\nC4|GABc|c4|FEDC|\n", true},
		{"K:G\nCDEF|GABc|cBAG|FEDC|\n", "K:C\nCDEF|GABc|cBAG|F4|\n", "K:G\nCDEF|GABc|cBAG|F4|\n", true},
		{"K:C\nCDEF|GABc|cBAG|FEDC|C4|\n", "K:C\nC4|GABc|cBAG|FEDC|\n", "K:C\nC4|GABc|cBAG|FEDC|C4|\n", true},
		{"K:C\nC4|GABc|cBAG|FEDC|\n", "K:C\nD4|GABc|cBAG|FEDC|\n", "", false},
		{"K:C\nC4|GABc|cBAG|FEDC|\n", "K:C\nCDEF|G4|cBAG|FEDC|\n", "", false}, // neighbours
	} {
		got, ok := mergeBars(base, c.a, c.b)
		if got != c.want || ok != c.ok {
			t.Errorf("%q and %q: %q, %v", c.a, c.b, got, ok)
		}
	}
}

func TestChordsForABareTune(t *testing.T) {
	r := atDesk(t, Config{})
	bare := regexp.MustCompile(`"[^"]*"`).ReplaceAllString(ferryLamp, "")
	id := r.add(bare)
	page := r.get("/tunes/"+id+"/sheet", http.StatusOK)
	page.wants(t, "Chords for this tune", "the tonic", ">Bar 8<")
	if strings.Contains(page.Text, "Bar 9") || strings.Contains(page.Text, "–9<") {
		t.Error("the pick-up is counted as a bar, as it is not above the staff")
	}
	const grey = `<g class="harm" fill=`
	picture := regexp.MustCompile(`/drawn/[0-9a-f]+/(0|narrow)`)
	if _, err := assets.Fonts(); err == nil {
		for _, at := range picture.FindAllString(page.Text, -1) { // what was found does not stand on the sheet
			r.get(at, http.StatusOK).wants(t, grey)
		}
	}
	m := regexp.MustCompile(`name="chord-0" value="([^"]+)" checked(?s:.*?)name="chord-0" value="([^"]+)"`).FindStringSubmatch(page.Text)
	if m == nil {
		t.Fatal("no alternatives:\n" + page.Text)
	}
	trial := "?" + url.Values{"n": {"0"}, "chord": {m[2]}}.Encode()
	page.wants(t, "trial.wav?chord=", "trial.svg?chord=")
	if _, err := assets.Fonts(); err == nil {
		found := r.get("/tunes/"+id+"/trial.svg?n=0", http.StatusOK)
		if a := r.get("/tunes/"+id+"/trial.svg"+trial, http.StatusOK); !strings.Contains(a.Text, ">"+m[2]+"</text>") || a.Text == found.Text {
			t.Errorf("%s is not seen in its bar", m[2])
		}
		if a := r.get("/tunes/"+id+"/trial.wav"+trial, http.StatusOK); !strings.HasPrefix(a.Text, "RIFF") {
			t.Errorf("%.8q", a.Text)
		}
	}
	for _, bad := range []string{"", "?n=x", "?n=-1", "?n=999"} {
		r.get("/tunes/"+id+"/trial.svg"+bad, http.StatusNotFound)
	}
	page = r.post("/tunes/"+id+"/chords", url.Values{"seen": {page.field(t, "seen")}, "chord-0": {m[2]}, "chord-1": {`"><script>`}}, http.StatusOK)
	page.wants(t, "The sheet is kept", "&#34;"+m[2]+"&#34;")
	if strings.Contains(page.Text, "Chords for this tune") {
		t.Error("they are proposed again")
	}
	if at := picture.FindString(page.Text); at != "" && strings.Contains(r.get(at, http.StatusOK).Text, grey) {
		t.Error("chords of the sheet are grey")
	}
	song, err := gradatim.Read("x.abc", []byte(bare), 0)
	if err != nil {
		t.Fatal(err)
	}
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	if got := st.Session.Song(); len(got.Melody) != len(song.Melody) || got.Chords[0].Text != m[2] {
		t.Errorf("%d notes of %d, the first chord is %q", len(got.Melody), len(song.Melody), got.Chords[0].Text)
	}
}

// A likely reading is taken by a button, and given up by one; the sheet stays as it came.
func TestMend(t *testing.T) {
	engraves(t)
	r := atDesk(t, Config{})
	wrong := strings.Replace(ferryLamp, `"G"G3||`, `"Am"G3||`, 1) // the last chord, under the tonic
	id := r.add(wrong)
	page := r.get("/tunes/"+id+"/sheet", http.StatusOK)
	page.wants(t, "Read it so", "Almost certainly so.")
	r.post("/tunes/"+id+"/mend", url.Values{"mend": {"nothing"}}, http.StatusNotFound)
	page = r.post("/tunes/"+id+"/mend", url.Values{"mend": {page.field(t, "mend")}}, http.StatusOK)
	page.wants(t, "Taken.", "&#34;Am&#34;G3", "sheet-mended")
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	if song := st.Session.Song(); song.Chords[len(song.Chords)-1].Chord.String() != "G" {
		t.Errorf("the last chord is %v", song.Chords[len(song.Chords)-1].Chord)
	}
	r.post("/tunes/"+id+"/mend", url.Values{}, http.StatusOK).wants(t, "as it stands", "Read it so")
}

func TestOptions(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	r.post("/tunes/"+id+"/options", url.Values{"key": {"F"}, "hand": {"octave"}}, http.StatusOK).wants(t, "made so from now on", `<option value="F" selected>`)
	r.post("/tunes/"+id+"/options", url.Values{"repeats": {"written"}, "key": {"F"}, "was-key": {"F"}, "hand": {""}, "was-hand": {""}}, http.StatusOK).wants(t, `value="octave"`)
	r.get("/tunes/"+id+"/plan", http.StatusOK).wants(t, `<option value="written" selected>`)
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	if k, err := st.Session.Keys(context.Background()); err != nil || k[0].String() != "F major" {
		t.Error(k, err)
	}
	r.post("/tunes/"+id+"/options", url.Values{"hand": {"enormous"}}, http.StatusOK).wants(t, "could not be read", `value="octave"`)
}

func TestRights(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	r.get("/tunes/"+id+"/rights", http.StatusOK).wants(t, "Nothing is written down")
	r.post("/tunes/"+id+"/rights", url.Values{"territory": {"Atlantis"}, "status": {"own"}}, http.StatusUnprocessableEntity).wants(t, "shelf-territory", `value="Atlantis"`)
	r.post("/tunes/"+id+"/rights", url.Values{"territory": {"DE"}, "status": {"public domain"}, "basis": {"printed in <1890>"}}, http.StatusOK).wants(t, "DE: public domain", "printed in &lt;1890&gt;")
	r.post("/tunes/"+id+"/rights", url.Values{"territory": {"DE"}, "status": {"unknown"}}, http.StatusOK).wants(t, "DE: unknown", "What was written down before")
}

// engraves passes a test over in a program that was built without its engraver.
func engraves(t testing.TB) {
	t.Helper()
	if _, err := assets.Fonts(); err != nil {
		missing(t, err)
	}
}

func missing(t testing.TB, err error) {
	t.Helper()
	var m *assets.MissingError
	if errors.As(err, &m) {
		sharedtest.Absent(t, err.Error())
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestListen(t *testing.T) {
	engraves(t)
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	r.choose(id, 0, 2, 1, "Cm")
	page := r.get("/tunes/"+id+"/listen?level=2&from=1&to=2&hands=left&tempo=60%25&count=1", http.StatusOK)
	page.wants(t, `<option value="left" selected>`, `<option value="60%" selected>`, "before the last change", "sound.wav?at=1")
	a := r.get("/tunes/"+id+"/sound.wav?level=2&from=1&to=1", http.StatusOK)
	if !strings.HasPrefix(a.Text, "RIFF") || a.Header.Get("Content-Type") != "audio/wav" || a.Header.Get("Accept-Ranges") != "bytes" {
		t.Errorf("%q, %v", a.Text[:8], a.Header)
	}
	b := r.get("/tunes/"+id+"/sound.wav?level=2&from=1&to=1&at=0", http.StatusOK)
	if a.Text == b.Text {
		t.Error("before and after sound the same")
	}
	r.get("/tunes/"+id+"/timing.json?level=2&from=1&to=2&count=1", http.StatusOK).wants(t, `"bar":1`, `"bar":2`, `"id":"b1-`)
	r.get("/tunes/"+id+"/sound.wav?level=2&hands=feet", http.StatusNotFound)
	r.get("/tunes/"+id+"/sound.wav?level=77", http.StatusNotFound)
	r.get("/tunes/"+id+"/page.svg?level=2&from=1&to=2&ids=m1-", http.StatusOK).wants(t, `id="m1-b1-`)
	r.get("/tunes/"+id+"/page.svg?level=2&from=700&to=702", http.StatusUnprocessableEntity)
}

// A lesson is queued, made, told as it goes, and downloaded.
func TestLesson(t *testing.T) {
	engraves(t)
	if testing.Short() {
		t.Skip("makes a lesson")
	}
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	page := r.post("/tunes/"+id+"/lesson", url.Values{"audio": {"none"}, "level": {"1"}}, http.StatusOK)
	page.wants(t, "Ordered.", "<progress")
	m := regexp.MustCompile(`data-events="([^"]+)"`).FindStringSubmatch(page.Text)
	if m != nil { // it may be over by now
		r.get(m[1], http.StatusOK).wants(t, "event: progress", `"over":true`, `"percent":100`)
	}
	page = r.get("/tunes/"+id+"/lesson", http.StatusOK)
	link := regexp.MustCompile(`/tunes/` + id + `/lesson/[0-9a-f]+\.zip`).FindString(page.Text)
	if link == "" {
		t.Fatal("no download:\n" + page.Text)
	}
	a := r.get(link, http.StatusOK)
	z, err := zip.NewReader(bytes.NewReader([]byte(a.Text)), int64(len(a.Text)))
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	for _, f := range z.File {
		names[f.Name] = true
	}
	if !names["pasted/index.html"] || !names["pasted/manifest.json"] {
		t.Errorf("%v", names)
	}
	other := r.add(strings.Replace(ferryLamp, "Ferry Lamp", "Other Lamp", 1) + "G4|\n")
	r.get(strings.Replace(link, id, other, 1), http.StatusNotFound)
	if m != nil {
		r.get(strings.Replace(m[1], id, other, 1), http.StatusNotFound)
	}
}

// The bench lets go of sessions and forgets nothing that counts.
func TestBench(t *testing.T) {
	b := newBench()
	for i := range 3 * held {
		b.put(fmt.Sprint(i), nil)
	}
	if b.order.Len() != held || len(b.sessions) != held {
		t.Errorf("%d sessions are held", b.order.Len())
	}
	d := newDrawings()
	for i := range 100 {
		d.put(fmt.Sprint(i), [][]byte{make([]byte, 1<<20)})
	}
	if d.bytes > maxDrawn || d.bytes != d.order.Len()<<20 {
		t.Errorf("%d bytes of %d pictures", d.bytes, d.order.Len())
	}
}

// Two desks on one shelf lose nothing either: each writes on top of what the other has
// written meanwhile.
func TestTwoDesks(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	other := newDesk(t, r.shelf, Config{})
	var wg sync.WaitGroup
	for i, d := range []*Desk{r.desk, other} {
		wg.Go(func() {
			for n := range 3 {
				o, err := d.change(context.Background(), id, 0, "both", func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
					return s.Change(ctx, gradatim.Choice{Level: 2, Bar: 1 + 2*n + i, Chord: "G6"})
				})
				if err != nil || o.Kept > 0 {
					t.Errorf("desk %d, bar %d: %+v, %v", i, 1+2*n+i, o, err)
				}
			}
		})
	}
	wg.Wait()
	if c := r.choices(id); strings.Count(c, "[[choice]]") != 6 {
		t.Errorf("of six changes there are\n%s", c)
	}
}

// A change that no page can have is refused, with the reason, and nothing is written.
func TestRefused(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	_, err := r.desk.change(context.Background(), id, 0, "impossible", func(ctx context.Context, s *gradatim.Session) (*gradatim.Session, error) {
		return s.Change(ctx, gradatim.Choice{Level: 2, Bar: 700, Chord: "G6"})
	})
	var ps leadsheet.Problems
	if !errors.As(err, &ps) || ps[0].Text == "" {
		t.Errorf("%v", err)
	}
	if c := r.choices(id); c != "" {
		t.Errorf("written:\n%s", c)
	}
}

// Many edits leave no goroutine behind, and the heap as it was.
func TestManyEdits(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(ferryLamp)
	edits := 1000 / sharedtest.Every(100, 50)
	heap := func() uint64 {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	seen := 0
	edit := func(n int) {
		for i := range n {
			seen = r.choose(id, seen, 2, 1+(seen+i)%8, []string{"G6", "Gmaj7", "Em7"}[(seen+i)%3]).Version
		}
	}
	edit(held + 1) // the bench is full
	before, running := heap(), runtime.NumGoroutine()
	edit(edits)
	// What ends has a moment to do so.
	for end := time.Now().Add(10 * time.Second); runtime.NumGoroutine() > running+2 && time.Now().Before(end); {
		time.Sleep(10 * time.Millisecond)
	}
	if got := runtime.NumGoroutine(); got > running+2 {
		var stacks bytes.Buffer
		pprof.Lookup("goroutine").WriteTo(&stacks, 1)
		t.Errorf("%d goroutines, %d before:\n%s", got, running, stacks.String())
	}
	got := heap()
	t.Logf("%d edits: %d kB alive, %d before; %d goroutines, %d before", edits, got>>10, before>>10, runtime.NumGoroutine(), running)
	if got > before+before/2+8<<20 {
		t.Errorf("%d bytes after %d edits, %d before", got, edits, before)
	}
}

// A lesson that is being made tells how far each of its levels is.
func TestRunParts(t *testing.T) {
	r := atDesk(t, Config{})
	got := r.desk.runParts([]gradatim.PressStep{{Name: "level 1: score", Share: 1}, {Name: "level 1: MIDI", Share: 0.5}, {Name: "level 3: score", Share: 0}, {Name: "workbook", Share: 1}, {Name: "level 1 in B♭ major: score"}})
	want := []runPart{{"Level 1", "1 of 2 done", 75}, {"Level 3", "0 of 1 done", 0}, {"Workbook", "1 of 1 done", 100}, {"level 1 in B♭ major", "0 of 1 done", 0}}
	if !slices.Equal(got, want) {
		t.Errorf("%+v", got)
	}
}
