package pack_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/browser"
)

// TestHomework: the sheets say the same bars and minutes as the plan beside the player,
// and each level takes one printed page of A4 (ISO 216: 210 by 297 mm), marked where the
// rights are not stated.
func TestHomework(t *testing.T) {
	dir, in := sounding(t)
	files := tree(t, dir)
	sheets, plan := plainText(files["homework.html"]), 0
	for _, l := range []string{"level-1.html", "level-3.html"} {
		for _, m := range regexp.MustCompile(`data-percent="\d+" data-hands="\w+">([^<]*), ([^<,]*), \d+ %`).FindAllStringSubmatch(files[l], -1) {
			plan++
			if !strings.Contains(sheets, plainText(m[1])) {
				t.Errorf("%s: no %q on the sheets", l, m[1])
			}
		}
	}
	rows, first := 0, map[string]bool{}
	level := -1
	for _, sheet := range strings.Split(files["homework.html"], "<h2>")[1:] {
		if !strings.Contains(sheet, `class="tasks"`) {
			continue // the credits
		}
		level++
		// Before the whole piece is asked for, every phrase that is not another's repeat was.
		begun := map[string]bool{}
		before, _, _ := strings.Cut(sheet, "The whole piece")
		for _, m := range regexp.MustCompile(`#bars=(\d+-\d+)&amp;tempo=60`).FindAllStringSubmatch(before, -1) {
			begun[m[1]] = true
		}
		phrases := 0
		for _, p := range in.Editions[0].Lesson.Levels[level].Plan.Phrases {
			if !p.Repeats() {
				phrases++
			}
		}
		if len(begun) < phrases {
			t.Errorf("%d of %d phrases are begun before the whole piece: %v", len(begun), phrases, begun)
		}
		weeks := strings.Split(sheet, "<h3>")[1:]
		if len(weeks) < 3 || len(weeks) > 5 {
			t.Errorf("%d weeks", len(weeks))
			continue
		}
		rows += strings.Count(weeks[0], `<li class="task">`) + strings.Count(weeks[0], " → ")
		for _, w := range weeks { // each week asks for something else
			lines := strings.Join(regexp.MustCompile(`(?s)<span class="what">.*?</span></span>|<span class="what">.*?</span>,[^<]*`).FindAllString(w, -1), "\n")
			if first[lines] || lines == "" {
				t.Errorf("a week is like another, or empty:\n%s", lines)
			}
			first[lines] = true
		}
		if strings.Contains(weeks[0], "The whole piece") || !strings.Contains(weeks[len(weeks)-1], "tempo=100&amp;hands=both") {
			t.Error("the whole piece is not for the first week, or never played at its tempo")
		}
	}
	if rows != plan || plan < 6 {
		t.Errorf("%d lines for %d steps", rows, plan)
	}
	if n := strings.Count(sheets, private); n < len(in.Editions[0].Pages) {
		t.Errorf("the mark stands %d times", n)
	}
	if !strings.Contains(files["index.html"], `href="homework.html"`) {
		t.Error("the first page does not lead there")
	}
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/homework.html", 1200)
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
	if m := regexp.MustCompile(`Pages: +(\d+)`).FindStringSubmatch(string(info)); m == nil || m[1] != strconv.Itoa(len(in.Editions[0].Pages)) {
		t.Errorf("%d levels are printed on %v pages", len(in.Editions[0].Pages), m)
	}
}
