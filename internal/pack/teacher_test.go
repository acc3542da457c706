package pack_test

import (
	"html"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gradatim/internal/imprint"
	"gradatim/internal/pack"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/browser"
)

// ferrySections is a tune with two sections, the first of them played twice.
const ferrySections = `X:1
T:Ferry Lamp in Parts
C:written for the tests
M:4/4
L:1/4
Q:1/4=120
P:AAB
K:G
P:A
"G"G B d>B|"Em"e d B G|"C"E G c E|"D7"F A d D|
P:B
"G"d B d>B|"Em"e d B G|"Am"A c "D7"B A|"G"G4||
`

// TestTeachersPage: what is for the teacher alone stands on her page, with bars and the
// times that the player shows there, and in no file for pupils.
func TestTeachersPage(t *testing.T) {
	in := inputOf(t, read(t, ferrySections), "2")
	in.Own.Imprint = imprint.Imprint{
		Teacher:      imprint.All,
		Introduction: "We learn **it** together.", Sections: map[string]string{"A": "Sing it first."}, Notes: map[string]string{"B": "She claps part B late."},
		Levels: map[string]imprint.Words{"2": {Words: "Begin with the left hand.", Teacher: "She rushes bar *seven*. Ask for the pedal."}},
	}
	dir := filepath.Join(t.TempDir(), "lesson")
	build(t, dir, in, pack.Options{})
	files := tree(t, dir)
	hers, ok := files["teacher.html"]
	if !ok {
		t.Fatal("there is no page for the teacher")
	}
	if !strings.Contains(files["manifest.json"], `"teacher.html"`) {
		t.Error("the manifest does not list it")
	}
	secret := []string{"She claps part B late.", "She rushes bar seven. Ask for the pedal."}
	for _, l := range in.Editions[0].Lesson.Levels {
		for _, x := range l.Talk {
			if len(strings.Fields(x.Say)) > 4 {
				secret = append(secret, x.Say)
			}
		}
		for _, p := range append(l.Listen, l.Mistakes...) {
			secret = append(secret, p.Text)
		}
	}
	if len(secret) < 8 {
		t.Errorf("only %d notes", len(secret))
	}
	plain := plainText(hers)
	for _, s := range secret {
		if !strings.Contains(plain, strings.Join(strings.Fields(s), " ")) {
			t.Errorf("the teacher's page lacks %q", s)
		}
	}
	for name, data := range files {
		if pack.ForTeacher(name) {
			continue
		}
		text := plainText(data)
		if filepath.Ext(name) == ".pdf" {
			out, err := exec.Command(sharedtest.Tool(t, "pdftotext"), filepath.Join(dir, name), "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			text = plainText(string(out))
			if name == "workbook.pdf" && (!strings.Contains(text, "We learn it together.") || !strings.Contains(text, "Begin with the left hand.")) {
				t.Error("the workbook lacks the teacher's words for pupils")
			}
		}
		for _, s := range secret {
			if strings.Contains(text, strings.Join(strings.Fields(s), " ")) {
				t.Errorf("%s says %q", name, s)
			}
		}
		if name != "manifest.json" && strings.Contains(data, "teacher.html") {
			t.Errorf("%s leads to the teacher's page", name)
		}
	}
	// Bars and times, held against the player.
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/teacher.html", 1200)
	type row struct{ Bars, Time string }
	rows := browser.Eval[[]row](b, `[...document.querySelectorAll("main section")].flatMap((s) => [...s.querySelectorAll("tbody tr")].map((r) => ({Bars: r.cells[0].textContent, Time: r.cells[1].textContent})))`)
	if heads := browser.Eval[string](b, `[...document.querySelectorAll("#level-2 h3")].map((h) => h.textContent).slice(0, 3).join()`); !strings.HasPrefix(heads, "Section A,Section B") {
		t.Errorf("the sections are %q", heads)
	}
	b.Open(fileURL(dir)+"/level-2.html", 1200)
	b.Wait(`window.lesson`)
	shown := browser.Eval[[]string](b, `lesson.data.bars.map((x) => { lesson.go(x.at); return document.getElementById("clock").textContent.split(" / ")[0] + ", " + document.getElementById("where").textContent; })`)
	places, seen := strings.Join(shown, "|"), 0
	for _, r := range rows {
		if n := regexp.MustCompile(`[0-9]+`).FindString(r.Bars); n != "" {
			seen++
			if !strings.Contains(places, r.Time+", bar "+n+",") {
				t.Errorf("%s at %s: the player shows %q", r.Bars, r.Time, shown)
			}
		}
	}
	if seen < 6 {
		t.Errorf("%d rows: %v", seen, rows)
	}

	in.Own.Imprint.Teacher = "" // it is made where it is asked for
	build(t, dir, in, pack.Options{})
	for name, data := range tree(t, dir) {
		if pack.ForTeacher(name) || strings.Contains(data, "She rushes") {
			t.Errorf("%s is there, though nobody asked for the page", name)
		}
	}
}

// plainText is the text of a page, whatever its lines.
func plainText(page string) string {
	page = regexp.MustCompile(`(?s)<style.*?</style>|</?(em|strong)>`).ReplaceAllString(page, "")
	page = regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")
	return strings.Join(strings.Fields(html.UnescapeString(page)), " ")
}
