package desk

import (
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
)

// parsed reads a page as the HTML standard lets a lenient XML parser do, and gathers its
// elements.
type element struct {
	name string
	attr map[string]string
	text string // what stands in it up to the next element
}

func parsed(t *testing.T, page string) []element {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var out []element
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			e := element{name: tok.Name.Local, attr: map[string]string{}}
			for _, a := range tok.Attr {
				e.attr[a.Name.Local] = a.Value
			}
			out = append(out, e)
		case xml.CharData:
			if len(out) > 0 {
				out[len(out)-1].text += string(tok)
			}
		}
	}
}

// of are the elements of a name that have an attribute.
func of(es []element, name, attr string) []element {
	return slices.DeleteFunc(slices.Clone(es), func(e element) bool { _, has := e.attr[attr]; return e.name != name || !has })
}

// atLantern is a desk with the example of 32 bars, and its id.
func atLantern(t *testing.T) (*reader, string) {
	t.Helper()
	r := atDesk(t, Config{})
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", "lantern.abc"))
	if err != nil {
		t.Fatal(err)
	}
	return r, r.add(string(data))
}

// chosen are the choices of a tune as they stand on the shelf.
func (r *reader) chosen(id string) string {
	r.t.Helper()
	job, err := r.shelf.JobOf(context.Background(), id)
	if err != nil {
		r.t.Fatal(err)
	}
	return string(job.Choices.Data)
}

func level(n int, more ...string) url.Values {
	v := url.Values{"level": {fmt.Sprint(n)}, "seen": {"0"}}
	for i := 0; i < len(more); i += 2 {
		v.Set(more[i], more[i+1])
	}
	return v
}

// Every level shows the bar, the level that is looked at also what else there is; each way
// has a picture, a price and a button, and a way that is taken is what stands then, on the
// page and on the shelf.
func TestTakeWay(t *testing.T) {
	r, id := atLantern(t)
	a := r.get("/tunes/"+id+"/bar/7?level=3", http.StatusOK)
	es := parsed(t, a.Text)
	var large int
	for _, e := range of(es, "img", "src") {
		if strings.Contains(e.attr["src"], "/bar.svg?level=") && strings.Contains(e.attr["src"], "&bar=7&") && !strings.Contains(e.attr["src"], "way") {
			large++
		}
	}
	if large != 5 {
		t.Errorf("%d levels show the bar", large)
	}
	ways := slices.DeleteFunc(of(es, "button", "value"), func(e element) bool { return e.attr["name"] != "way" })
	if len(ways) < 8 {
		t.Fatalf("only %d ways", len(ways))
	}
	pictures := regexp.MustCompile(`src="([^"]*way=[^"]*)"`).FindAllStringSubmatch(a.Text, -1)
	if len(pictures) != len(ways) {
		t.Errorf("%d pictures of %d ways", len(pictures), len(ways))
	}
	svg := r.get(html.UnescapeString(pictures[0][1]), http.StatusOK)
	if svg.Header.Get("Content-Type") != "image/svg+xml" || !strings.Contains(svg.Text, "<svg") {
		t.Error("no picture of a way")
	}
	sound := r.get(html.UnescapeString(regexp.MustCompile(`href="([^"]*sound.wav[^"]*way=[^"]*)"`).FindStringSubmatch(a.Text)[1]), http.StatusOK)
	if !strings.HasPrefix(sound.Text, "RIFF") {
		t.Error("no sound of a way")
	}
	a.wants(t, "one jump fewer", "2 jumps more", "wider stretch", "suits the page less well", "Difficulty", "adds ")

	// The first that a hand has beside what stands.
	ds := r.decisions(id, 3, 7)
	i := slices.IndexFunc(ds, func(d gradatim.Decision) bool { return d.Hand != 0 && len(d.Runners) > 1 })
	want := ds[i].Runners[1].Text
	a = r.post("/tunes/"+id+"/bar/7", level(3, "do", "take", "way", fmt.Sprintf("%d.1", i)), http.StatusOK)
	a.wants(t, "Done, and kept.", "chosen by you", "You have chosen:")
	if got := r.decisions(id, 3, 7)[i]; got.Runners[0].Text != want || !got.Fixed {
		t.Errorf("%q was taken, %q stands", want, got.Runners[0].Text)
	}
	if text := r.chosen(id); !strings.Contains(text, "level = 3\nbar = 7\n") {
		t.Errorf("on the shelf stands %q", text)
	}
	hs, err := r.shelf.History(context.Background(), id, gradatim.ChoicesHistory)
	if err != nil || len(hs) != 1 || !strings.HasPrefix(hs[0].Note, "Level 3, bar 7: ") {
		t.Errorf("history %+v, %v", hs, err)
	}
	// The same form again, by who has not seen that: it touches the same bar, so both are kept.
	j := slices.IndexFunc(ds, func(d gradatim.Decision) bool { return d.Hand != 0 && len(d.Runners) > 2 })
	r.post("/tunes/"+id+"/bar/7", level(3, "do", "take", "way", fmt.Sprintf("%d.2", j)), http.StatusOK).wants(t, "Another window had changed the same bars")
	r.post("/tunes/"+id+"/bar/20", level(3, "do", "lock"), http.StatusOK).wants(t, "Another window had changed other bars")
	r.post("/tunes/"+id+"/bar/7", url.Values{"level": {"3"}, "seen": {"4"}, "do": {"free"}}, http.StatusOK).wants(t, "Done, and kept.")
	if text := r.chosen(id); strings.Contains(text, "[[choice]]") || !strings.Contains(text, "bar 20") {
		t.Errorf("let go, there stands %q", text)
	}
}

// decisions are those of the session that stands.
func (r *reader) decisions(id string, level, bar int) []gradatim.Decision {
	r.t.Helper()
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		r.t.Fatal(err)
	}
	ds, err := st.Session.RunnersUp(context.Background(), level, bar)
	if err != nil {
		r.t.Fatal(err)
	}
	return ds
}

// page is that of a level as it stands.
func (r *reader) page(id string, level int) gradatim.Page {
	r.t.Helper()
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		r.t.Fatal(err)
	}
	p, _, err := pageOf(context.Background(), st.Session, level)
	if err != nil {
		r.t.Fatal(err)
	}
	return p
}

// What cannot be is refused with place, rule and way out, and nothing is written.
func TestImpossible(t *testing.T) {
	r, id := atLantern(t)
	for _, c := range []struct {
		form url.Values
		says []string
	}{
		{level(2, "do", "use", "technique", "block-chords", "where", "here"), []string{"bar 7", "choice-impossible", "cannot be used there"}},
		{level(3, "do", "chord", "chord", "Gq7", "beat", "1"), []string{"chord-unknown", "Nearest to it"}},
		{level(3, "do", "add", "hand", "left", "beat", "1", "new", "C1:1/4"), []string{"bar 7", "choice-impossible", "Nearest to it, and possible here:"}},
		{level(3, "do", "add", "hand", "left", "beat", "1", "new", "H9"), []string{"choice-note"}},
		{level(3, "do", "finger", "note", "left 1 G2", "finger", "9"), []string{"choice-"}},
		{level(3, "do", "octave", "octave", "7"), []string{"choice-"}},
	} {
		a := r.post("/tunes/"+id+"/bar/7", c.form, http.StatusUnprocessableEntity)
		a.wants(t, append(c.says, "That cannot be done here")...)
	}
	if text := r.chosen(id); text != "" {
		t.Errorf("written: %q", text)
	}
	r.post("/tunes/"+id+"/bar/7", level(3, "do", "nothing"), http.StatusNotFound)
	r.get("/tunes/"+id+"/bar/99", http.StatusNotFound)
	r.get("/tunes/"+id+"/bar.svg?level=3&bar=7&way=99.1", http.StatusNotFound)
}

// Each of the tools does what it says, and what else has changed is marked.
func TestTools(t *testing.T) {
	r, id := atLantern(t)
	n := 0
	do := func(bar, l int, more ...string) answer {
		t.Helper()
		v := level(l, more...)
		v.Set("seen", fmt.Sprint(n))
		n++
		return r.post(fmt.Sprintf("/tunes/%s/bar/%d", id, bar), v, http.StatusOK)
	}
	do(7, 3, "do", "chord", "chord", "Gm7", "beat", "1").wants(t, "the chord Gm7", "changed")
	do(7, 5, "do", "avoid", "technique", "stride", "where", "section").wants(t, "not to use: stride")
	for _, u := range r.page(id, 5).Techniques {
		if u.Technique == "stride" && slices.ContainsFunc(u.Bars, func(b int) bool { return b >= 1 && b <= 8 }) {
			t.Errorf("stride in bars %v", u.Bars)
		}
	}
	rows := parsed(t, r.get("/tunes/"+id+"/bar/9?level=2", http.StatusOK).Text)
	var left string
	for _, e := range of(rows, "option", "value") {
		if strings.HasPrefix(e.attr["value"], "left ") {
			left = e.attr["value"]
			break
		}
	}
	do(9, 2, "do", "finger", "note", left, "finger", "4").wants(t, "finger 4 on ")
	do(9, 2, "do", "lock").wants(t, "the bar is kept as it is")
	w := r.get("/tunes/"+id+"/whole", http.StatusOK)
	w.wants(t, "◆")
	do(9, 2, "do", "free")
	if text := r.chosen(id); strings.Contains(text, "level = 2") {
		t.Errorf("let go, there stands %q", text)
	}
	// Everywhere: the search has other notes in other bars, and they are named.
	do(1, 1, "do", "avoid", "technique", "root-and-fifth", "where", "everywhere").wants(t, "The change has also changed", "bar/3?level=1")
}

// A note says why it is there, and what would be without it.
func TestWhy(t *testing.T) {
	r, id := atLantern(t)
	a := r.get("/tunes/"+id+"/bar/7?level=5", http.StatusOK)
	links := regexp.MustCompile(`href="([^"]*/why[^"]*)"`).FindAllStringSubmatch(a.Text, -1)
	if len(links) < 6 {
		t.Fatalf("%d notes", len(links))
	}
	var tune, other bool
	for _, l := range links {
		w := r.get(html.UnescapeString(l[1]), http.StatusOK)
		if strings.Contains(l[1], "chord=") {
			w.wants(t, "The chord", "Without it")
			continue
		}
		w.wants(t, "Degree", "The chord", "Role")
		switch {
		case strings.Contains(w.Text, "The tune would not be whole"):
			tune = true
		case strings.Contains(w.Text, "would stand without it"), strings.Contains(w.Text, "cannot be taken away"), strings.Contains(w.Text, "The page would fall"):
			other = true
		default:
			t.Errorf("nothing is said of what is without the note: %s", w.Text)
		}
	}
	if !tune || !other {
		t.Error("a bar without a tune, or without anything else")
	}
	r.get("/tunes/"+id+"/why?level=5&bar=7&note=nobody", http.StatusNotFound)
	r.get("/tunes/"+id+"/why?level=5&bar=7&chord=9", http.StatusNotFound)

	// A chord that a technique has put there is held against the sheet's own.
	sheets, ours := 0, 0
	for _, level := range []string{"level=1", "level=5"} {
		for _, l := range regexp.MustCompile(`href="([^"]*/why[^"]*chord=[^"]*)"`).FindAllStringSubmatch(r.get("/tunes/"+id+"/bar/7?"+level, http.StatusOK).Text, -1) {
			if !strings.Contains(l[1], level) {
				continue
			}
			w := r.get(html.UnescapeString(l[1]), http.StatusOK)
			switch {
			case strings.Contains(w.Text, "The sheet has this chord"):
				sheets++
			case strings.Contains(w.Text, "On the sheet") && (strings.Contains(w.Text, "would stand without it") || strings.Contains(w.Text, "cannot be taken away") || strings.Contains(w.Text, "The page would fall")):
				ours++
			default:
				t.Errorf("nothing is said of what is without the chord: %s", w.Text)
			}
		}
	}
	if sheets == 0 || ours == 0 {
		t.Errorf("%d chords of the sheet, %d of ours", sheets, ours)
	}
}

// The whole has a lane for each level, a column and a link for each bar, and a contour that
// says what the rating of the bars says.
func TestWhole(t *testing.T) {
	r, id := atLantern(t)
	a := r.get("/tunes/"+id+"/whole", http.StatusOK)
	es := parsed(t, a.Text)
	bars := regexp.MustCompile(`<td><a href="/tunes/[0-9a-f]+/bar/\d+">`).FindAllString(a.Text, -1)
	if len(bars) != 33 { // with the pick-up
		t.Errorf("%d columns", len(bars))
	}
	lanes := 0
	for _, e := range of(es, "polyline", "points") {
		lanes++
		if n := len(strings.Fields(e.attr["points"])); n != 2*33 {
			t.Errorf("a contour of %d points", n)
		}
	}
	if lanes != 5 {
		t.Errorf("%d lanes", lanes)
	}
	p := r.page(id, 5)
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	hard, err := hardness(context.Background(), p.Score, st.Session.Song(), gradatim.Hand{})
	if err != nil {
		t.Fatal(err)
	}
	for _, bar := range []int{3, 12, 30} {
		cut, err := gradatim.Excerpt(p.Score, bar, bar)
		if err != nil {
			t.Fatal(err)
		}
		rating, err := gradatim.Rate(context.Background(), cut, gradatim.RateOptions{})
		if err != nil || rating.Whole() != hard[bar] {
			t.Errorf("bar %d by itself: %d, in the contour %d, %v", bar, rating.Whole(), hard[bar], err)
		}
	}
}

// Each line of what was chosen is let go by itself, and what else was chosen stays; a finger
// also by its note.
func TestLetGo(t *testing.T) {
	r, id := atLantern(t)
	seen := 0
	do := func(more ...string) answer {
		t.Helper()
		v := level(3, more...)
		v.Set("seen", fmt.Sprint(seen))
		seen++
		return r.post("/tunes/"+id+"/bar/7", v, http.StatusOK)
	}
	do("do", "chord", "chord", "Gm7", "beat", "1")
	a := do("do", "avoid", "technique", "stride", "where", "section")
	a.wants(t, "not to use: stride (bars 1–8)")
	var note string
	for _, e := range of(parsed(t, a.Text), "option", "data-note") {
		if note == "" && strings.HasPrefix(e.attr["value"], "left ") {
			note = e.attr["value"]
		}
	}
	do("do", "finger", "note", note, "finger", "4", "begins", "1").wants(t, "finger 4 on ")
	lines := func(a answer) map[string]string {
		out := map[string]string{}
		for _, m := range regexp.MustCompile(`<span>([^<]*)</span> <button name="fixed" value="(\d+)"`).FindAllStringSubmatch(a.Text, -1) {
			out[m[1]] = m[2]
		}
		return out
	}
	all := lines(r.get("/tunes/"+id+"/bar/7?level=3", http.StatusOK))
	if len(all) != 3 {
		t.Fatalf("chosen: %v", all)
	}
	a = do("do", "let-go", "fixed", all["the chord Gm7"])
	a.wants(t, "let go of the chord Gm7")
	left := lines(a)
	if _, there := left["the chord Gm7"]; there || len(left) != 2 {
		t.Errorf("left: %v", left)
	}
	a = do("do", "finger", "note", note, "finger", "none", "begins", "1")
	if left := lines(a); len(left) != 1 {
		t.Errorf("left: %v", left)
	}
	if text := r.chosen(id); strings.Contains(text, "finger") || strings.Contains(text, "Gm7") || !strings.Contains(text, "stride") {
		t.Errorf("on the shelf stands %q", text)
	}
	v := level(3, "do", "let-go", "fixed", "9")
	v.Set("seen", fmt.Sprint(seen))
	r.post("/tunes/"+id+"/bar/7", v, http.StatusNotFound)
}

// The first row has each pattern once.
func TestPatternsOnce(t *testing.T) {
	r, id := atLantern(t)
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	b, _, err := barOf(st.Session, "7")
	if err != nil {
		t.Fatal(err)
	}
	p := r.page(id, 3)
	at, _ := standsAt(p.Score, b)
	w, err := r.desk.barWays(context.Background(), st, p, b, at, accounted{})
	if err != nil {
		t.Fatal(err)
	}
	forms := 0
	for i, v := range w.Decisions {
		var names []string
		total := 0
		for _, x := range slices.Concat(v.Ways, v.More) {
			names = append(names, x.Text)
			total += 1 + len(x.Forms)
			for _, f := range x.Forms {
				if forms++; f.Text != x.Text || f.Price == "" {
					t.Errorf("%q in %q, price %q", f.Text, x.Text, f.Price)
				}
			}
		}
		if slices.Sort(names); len(slices.Compact(slices.Clone(names))) != len(names) {
			t.Errorf("%s: %v", v.Title, names)
		}
		if ds := r.decisions(id, 3, 7); len(ds) == len(w.Decisions) && total != len(ds[i].Runners) {
			t.Errorf("%s: %d ways of %d", v.Title, total, len(ds[i].Runners))
		}
	}
	if forms == 0 {
		t.Error("no pattern has other notes")
	}
}

// A bar is made easier by the pattern that suits best of those that are, or the page says that
// there is none.
func TestEasier(t *testing.T) {
	r, id := atLantern(t)
	made, seen := 0, 0
	for _, bar := range []int{7, 12, 20} {
		rating := func() int {
			st, err := r.desk.state(t.Context(), id)
			if err != nil {
				t.Fatal(err)
			}
			b, _, err := barOf(st.Session, fmt.Sprint(bar))
			if err != nil {
				t.Fatal(err)
			}
			p := r.page(id, 4)
			at, _ := standsAt(p.Score, b)
			n, err := ratingOf(t.Context(), p.Score, at, st.Job.Hand)
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		was := rating()
		form := level(4, "do", "easier")
		form.Set("seen", fmt.Sprint(seen))
		res, err := r.http.PostForm(fmt.Sprintf("%s/tunes/%s/bar/%d", r.base, id, bar), form)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(res.Body)
		res.Body.Close()
		switch {
		case err != nil:
			t.Fatal(err)
		case res.StatusCode == http.StatusUnprocessableEntity && strings.Contains(string(text), "bar-easier"):
			if is := rating(); is != was {
				t.Errorf("bar %d was refused, and is %d, not %d", bar, is, was)
			}
		case res.StatusCode == http.StatusOK:
			made, seen = made+1, seen+1
			if is := rating(); is >= was {
				t.Errorf("bar %d: %d, was %d", bar, is, was)
			}
		default:
			t.Errorf("bar %d: %s", bar, res.Status)
		}
	}
	if made == 0 {
		t.Error("no bar was made easier")
	}
}

// One bar gets the choices of an earlier version back, and the others stay.
func TestRestoreBar(t *testing.T) {
	r, id := atLantern(t)
	r.choose(id, 0, 3, 7, "Gm")
	r.choose(id, 1, 3, 7, "Gm7")
	r.choose(id, 2, 3, 9, "F6")
	a := r.get("/tunes/"+id+"/compare?a=1&level=3", http.StatusOK)
	a.wants(t, "Bar 7: my choices of version 1 again", "Bar 9: my choices of version 1 again")
	if n := strings.Count(a.Text, "of version 1 again"); n != 2 { // where nothing else was chosen there is nothing to give back
		t.Errorf("%d bars are given their choices back", n)
	}
	r.get("/tunes/"+id+"/compare?a=0&level=3", http.StatusOK).wants(t, "Bar 7: let my choices go")
	form := level(3, "do", "restore", "from", "1")
	form.Set("seen", "3")
	r.post("/tunes/"+id+"/bar/7", form, http.StatusOK).wants(t, "back to version 1")
	if c := r.choices(id); strings.Contains(c, "Gm7") || !strings.Contains(c, `"Gm"`) || !strings.Contains(c, "F6") {
		t.Error(c)
	}
	form.Set("seen", "4")
	form.Set("from", "0")
	r.post("/tunes/"+id+"/bar/7", form, http.StatusOK)
	if c := r.choices(id); strings.Contains(c, "Gm") || !strings.Contains(c, "F6") {
		t.Error(c)
	}
	form.Set("from", "77")
	form.Set("seen", "5")
	r.post("/tunes/"+id+"/bar/7", form, http.StatusUnprocessableEntity)
}
