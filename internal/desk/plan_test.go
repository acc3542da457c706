package desk

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gradatim/score"
)

// twoParts is a tune of our own with two sections.
const twoParts = `X:1
T:Gate and Yard
C:written for the tests
M:4/4
L:1/4
Q:1/4=100
K:F
P:A
"F"F A c A|"Bb"d B F2|"C7"E G c B|"F"A F F2|
P:B
"Dm"d f a f|"Gm"g d B2|"C7"c e g e|"F"f4|]
`

// density reads what the page says of the left hand's density in a section.
func density(t *testing.T, a answer, part int) float64 {
	t.Helper()
	m := regexp.MustCompile(`id="part-` + strconv.Itoa(part) + `"(?s:.*?)a bar, ([0-9.]+) notes`).FindStringSubmatch(a.Text)
	if m == nil {
		t.Fatalf("no density of part %d:\n%s", part, a.Text)
	}
	f, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The plan of a level is set section by section: texture, loudness, density; each is a
// choice that can be taken back, and the other section stays as it was.
func TestPlan(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(twoParts)
	page := r.get("/tunes/"+id+"/plan?level=3", http.StatusOK)
	page.wants(t, `id="part-1"`, `id="part-5"`, "Bars 1–4", "Bars 5–8", "This kind"[1:4], "Introduction")
	seen := 0
	post := func(part int, form url.Values, status int) answer {
		t.Helper()
		form.Set("level", "3")
		form.Set("part", strconv.Itoa(part))
		form.Set("seen", strconv.Itoa(seen))
		a := r.post("/tunes/"+id+"/plan", form, status)
		if m := regexp.MustCompile(`name="seen" value="(\d+)"`).FindStringSubmatch(a.Text); m != nil {
			seen, _ = strconv.Atoi(m[1])
		}
		return a
	}

	// Loudness.
	post(5, url.Values{"do": {"dynamic"}, "dynamic": {"pp"}}, http.StatusOK).wants(t, "Done, and kept.", "Level 3, bars 5–8: pp")
	st, err := r.desk.state(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	p, _, err := pageOf(context.Background(), st.Session, 3)
	if err != nil {
		t.Fatal(err)
	}
	for i, b := range st.Session.Song().Bars {
		at, _ := standsAt(p.Score, b)
		if got := p.Score.DynamicAt(at.At, score.Right); (got == "pp") != (i >= 4) {
			t.Errorf("bar %d is %s", i+1, got)
		}
	}

	// Texture: one of those that the section offers.
	page = r.get("/tunes/"+id+"/plan?level=3", http.StatusOK)
	_, rest, _ := strings.Cut(page.Text, `id="texture-5"`)
	list, _, _ := strings.Cut(rest, "</select>")
	done := false
	for _, m := range regexp.MustCompile(`<option value="([a-z-]+)">`).FindAllStringSubmatch(list, -1) {
		form := url.Values{"level": {"3"}, "part": {"5"}, "seen": {strconv.Itoa(seen)}, "do": {"texture"}, "texture": {m[1]}}
		res, err := r.http.PostForm(r.base+"/tunes/"+id+"/plan", form)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		if res.StatusCode == http.StatusOK && strings.Contains(r.choices(id), `technique = "`+m[1]+`"`) {
			done = true
			break
		}
	}
	if !done || !strings.Contains(r.choices(id), "bar = 5\nbars = 4\n") {
		t.Errorf("no texture was taken of\n%s\n%s", list, r.choices(id))
	}
	page = r.get("/tunes/"+id+"/plan?level=3", http.StatusOK)
	if m := regexp.MustCompile(`name="seen" value="(\d+)"`).FindStringSubmatch(page.Text); m != nil {
		seen, _ = strconv.Atoi(m[1])
	}
	post(5, url.Values{"do": {"texture"}, "texture": {"no-such"}}, http.StatusUnprocessableEntity).wants(t, "plan-texture")
	post(9, url.Values{"do": {"fuller"}}, http.StatusNotFound)

	// Density: fuller has more notes, or says that nothing has.
	was := density(t, page, 1)
	for do, wants := range map[string]func(float64) bool{"fuller": func(f float64) bool { return f > was }, "thinner": func(f float64) bool { return f < was }} {
		form := url.Values{"level": {"3"}, "part": {"1"}, "seen": {strconv.Itoa(seen)}, "do": {do}}
		res, err := r.http.PostForm(r.base+"/tunes/"+id+"/plan", form)
		if err != nil {
			t.Fatal(err)
		}
		status := res.StatusCode
		a := r.read(res, nil, status)
		switch status {
		case http.StatusOK:
			if is := density(t, a, 1); !wants(is) {
				t.Errorf("%s: %g notes a bar, %g before", do, is, was)
			} else {
				t.Logf("%s: %g notes a bar, %g before", do, is, was)
			}
			r.post("/tunes/"+id+"/undo", url.Values{"version": {regexp.MustCompile(`name="seen" value="(\d+)"`).FindStringSubmatch(a.Text)[1]}}, http.StatusOK)
			seen += 2
		case http.StatusUnprocessableEntity:
			a.wants(t, "plan-density")
		default:
			t.Errorf("%s answers %d", do, status)
		}
	}

	// What holds for all levels comes back to the plan.
	a := r.post("/tunes/"+id+"/options", url.Values{"plan": {"3"}, "introduction": {"short"}, "was-introduction": {""}}, http.StatusOK)
	if a.Request.URL.Path != "/tunes/"+id+"/plan" {
		t.Errorf("it comes back to %s", a.Request.URL)
	}
	a.wants(t, `<option value="short" selected>`, "made so from now on")
}

// A kind that comes near to the one that was found can be taken by a press.
func TestSecondGuess(t *testing.T) {
	r := atDesk(t, Config{})
	id := r.add(twoParts)
	page := r.get("/tunes/"+id+"/plan", http.StatusOK)
	m := regexp.MustCompile(`name="style" value="([a-z-]+)"`).FindStringSubmatch(page.Text)
	if m == nil {
		t.Fatalf("no second guess:\n%s", page.Text)
	}
	r.post("/tunes/"+id+"/options", url.Values{"plan": {"1"}, "style": {m[1]}, "was-style": {""}}, http.StatusOK).wants(t, "You have chosen to have the tune played ", `<option value="`+m[1]+`" selected>`)
}
