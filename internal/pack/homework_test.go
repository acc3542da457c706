package pack_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/browser"
)

// TestHomework: the sheet of a level, its page of practice and the page with the player show
// the same steps in the same order; a week's drills and new things are of bars that it
// takes up; every bar of the tune is in some week, or told to be like one that is; a tick
// stays, and its week stands first. A sheet takes one printed page of A4 (ISO 216: 210 by
// 297 mm), marked where the rights are not stated.
func TestHomework(t *testing.T) {
	dir, in := sounding(t)
	files := tree(t, dir)
	drills := 0
	for i, l := range in.Editions[0].Lesson.Levels {
		stem := "level-" + strconv.Itoa(l.Number)
		sheet := files[stem+"-homework.html"]
		weeks := strings.Split(sheet, `<section class="week"`)[1:]
		if len(weeks) < 3 || len(weeks) > 5 {
			t.Errorf("%s: %d weeks", stem, len(weeks))
			continue
		}
		plan := func(page, pattern string) []string {
			var out []string
			for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(page, -1) {
				out = append(out, m[1])
			}
			return out
		}
		played := plan(files[stem+".html"], `data-minutes="\d+">([^<]*)</button>`)
		practised := plan(files[stem+"-practice.html"], `#step-\d+">([^<]*)</a>`)
		asked := plan(weeks[0], `class="unseen">, ([^<]*)</span></a>`)
		if len(played) < 6 || !slices.Equal(played, practised) || !slices.Equal(played, asked) {
			t.Errorf("%s: three plans:\n%q\n%q\n%q", stem, played, practised, asked)
		}
		if !strings.Contains(files[stem+".html"], `id="step-now" class="with-script">Step 1 of `+strconv.Itoa(len(played))+": "+played[0]) {
			t.Errorf("%s: the first window does not have the first step", stem)
		}
		// What is begun, at 60 %, before the whole piece is asked for.
		before, _, _ := strings.Cut(sheet, "The whole piece")
		page, _ := in.Editions[0].Pages[i].Score.Played()
		taken := map[int]bool{}
		for _, w := range strings.Split(before, `<section class="week"`)[1:] {
			this := map[int]bool{}
			for _, m := range regexp.MustCompile(`#bars=(\d+)-(\d+)&amp;tempo=`).FindAllStringSubmatch(w, -1) {
				a, _ := strconv.Atoi(m[1])
				z, _ := strconv.Atoi(m[2])
				for b := a; b <= z; b++ {
					this[page.Bars[b].Number], taken[page.Bars[b].Number] = true, true
				}
			}
			for _, m := range regexp.MustCompile(`drills.html#drill(\d+)"`).FindAllStringSubmatch(w, -1) {
				n, _ := strconv.Atoi(m[1])
				d := l.Drills[n-1]
				drills++
				serves := len(d.For) == 0
				for _, id := range d.For {
					for _, x := range l.New {
						serves = serves || x.Technique == id && slices.ContainsFunc(x.Bars, func(b int) bool { return this[b] })
					}
					for _, x := range l.Given {
						serves = serves || x.Technique == id && slices.ContainsFunc(x.Bars, func(b int) bool { return this[b] })
					}
					for _, x := range l.Also {
						serves = serves || x.Technique == id && slices.ContainsFunc(x.Bars, func(b int) bool { return this[b] })
					}
				}
				if !serves {
					t.Errorf("%s: the drill %q serves no bar of its week", stem, d.Name)
				}
			}
			if n := strings.Count(w, "#new-"); n > 3 {
				t.Errorf("%s: %d new things in a week", stem, n)
			}
		}
		for _, m := range regexp.MustCompile(`The same notes come again in (bars? [^<]*?)\.<`).FindAllStringSubmatch(before, -1) {
			for _, r := range regexp.MustCompile(`(\d+)(?:–(\d+))?`).FindAllStringSubmatch(m[1], -1) {
				a, _ := strconv.Atoi(r[1])
				z := a
				if r[2] != "" {
					z, _ = strconv.Atoi(r[2])
				}
				for ; a <= z; a++ {
					taken[a] = true
				}
			}
		}
		for _, b := range page.Bars {
			if !taken[b.Number] {
				t.Errorf("%s: bar %d of %v is in no week", stem, b.Number, b.Part)
			}
		}
		first := map[string]bool{}
		for _, w := range weeks { // each week asks for something else
			lines := strings.Join(plan(w, `class="unseen">, ([^<]*)</span>`), "; ")
			if first[lines] || lines == "" {
				t.Errorf("%s: a week is like another, or empty: %s", stem, lines)
			}
			first[lines] = true
		}
		if strings.Contains(weeks[0], "The whole piece") || !strings.Contains(weeks[len(weeks)-1], "tempo=100&amp;hands=both") {
			t.Error("the whole piece is not for the first week, or never played at its tempo")
		}
		if !strings.Contains(plainText(sheet), private) {
			t.Errorf("%s is not marked", stem)
		}
		if !strings.Contains(files["index.html"], `href="`+stem+`-homework.html"`) {
			t.Errorf("the first page does not lead to the sheet of %s", stem)
		}
	}
	if drills < 4 {
		t.Errorf("%d drills in all weeks", drills)
	}
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/level-1-homework.html", 390)
	b.Do(chromedp.Click(`#week-2 label:nth-child(3) input`))
	b.Open(fileURL(dir)+"/level-1-homework.html", 390)
	if got := browser.Eval[string](b, `document.querySelector(".week").id + " " + document.querySelectorAll(":checked").length`); got != "week-2 1" {
		t.Errorf("after a tick in the second week: %s", got)
	}
	if w := browser.Eval[int](b, `document.documentElement.scrollWidth`); w > 390 {
		t.Errorf("the sheet is %d pixels wide", w)
	}
	for _, l := range in.Editions[0].Lesson.Levels {
		printsOn(t, b, fileURL(dir)+"/level-"+strconv.Itoa(l.Number)+"-homework.html", 1)
	}
}

// printsOn counts the pages of A4 that an address prints on.
func printsOn(t *testing.T, b *browser.Tab, address string, pages int) {
	t.Helper()
	b.Open(address, 1200)
	out, err := chromedp.Call(b.Ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: 210 / 25.4, PaperHeight: 297 / 25.4})
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "homework.pdf")
	if err := os.WriteFile(file, out.Data, 0o644); err != nil {
		t.Fatal(err)
	}
	info, err := exec.Command(sharedtest.Tool(t, "pdfinfo"), file).Output()
	if err != nil {
		t.Fatal(err)
	}
	if m := regexp.MustCompile(`Pages: +(\d+)`).FindStringSubmatch(string(info)); m == nil || m[1] != strconv.Itoa(pages) {
		t.Errorf("%s is printed on %v pages", address, m)
	}
}
