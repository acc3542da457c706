package edition_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/course"
	"gradatim/internal/edition"
	"gradatim/internal/musicxml"
	"gradatim/internal/reduction"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/score"
)

var writeCourse = flag.Bool("course", false, "write docs/course.md anew, from every fourth shared sheet")

// courseBegin stands before the table in docs/course.md.
const courseBegin = "<!-- figures -->\n"

// TestCourse counts how accompaniments go over a section, on printed pages (shared
// human_pages, without studies and sonata movements, and accompaniment_cc0; sources and
// licences in their READMEs) and on ours. With -course it writes docs/course.md; without, it
// holds on every twentieth sheet that at levels 2 to 5 our phrases close as print's do:
// as often in the rhythm of the bar before, within 25 points, and one in twenty by step.
func TestCourse(t *testing.T) {
	var print, ours [7]course.Course // by level; 6: the accompaniments
	for i := range print {
		print[i], ours[i] = course.Course{}, course.Course{}
	}
	count := func(to course.Course, s score.Score, name string) {
		song, _, err := reduction.OfPage(s, name)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		to.Add(course.Of(s, song))
	}
	pages, err := scoretest.PrintedPages(sharedtest.Path(t, "data/human_pages"))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range pages {
		if p.Kind != "sonata movement" && p.Kind != "study" {
			count(print[p.Level], p.Score, p.ID)
		}
	}
	files, _ := filepath.Glob(filepath.Join(sharedtest.Path(t, "data/accompaniment_cc0"), "*.mxl"))
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		s, _, err := musicxml.ReadScore(data, musicxml.Options{})
		if err != nil {
			t.Fatal(err)
		}
		count(print[6], s, f)
	}
	every := 20
	if *writeCourse {
		every = 4
	}
	for i, path := range sharedtest.Sheets(t) {
		if i%every != 0 {
			continue
		}
		as, err := edition.Make(context.Background(), load(t, path), edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for k, a := range as {
			if !a.Failed {
				count(ours[k+1], a.Score, path)
			}
		}
	}
	all, mine := course.Course{}, course.Course{}
	for l := 2; l <= 5; l++ {
		all.Add(print[l])
		mine.Add(ours[l])
	}
	p, m, line := all[course.KeptClose], mine[course.KeptClose], mine[course.LineClose]
	t.Logf("last bars in the rhythm of the bar before: print %v, ours %v; phrases that close by step: print %v, ours %v", p, m, all[course.LineClose], line)
	if d := 100*m.Hits/m.Of - 100*p.Hits/p.Of; d < -25 || d > 25 || 20*line.Hits < line.Of {
		t.Error("our phrases do not close as print's do")
	}
	if *writeCourse {
		writeCourseTable(t, print, ours)
	}
}

func writeCourseTable(t *testing.T, print, ours [7]course.Course) {
	var b strings.Builder
	b.WriteString("\n| count | print, levels 1 to 5 | piano parts of songs | ours, levels 1 to 5 |\n|---|---|---|---|\n")
	cell := func(r course.Ratio) string {
		if r.Of < 10 {
			return "–"
		}
		return fmt.Sprint(100 * r.Hits / r.Of)
	}
	row := func(code string, of [7]course.Course) string {
		var cells []string
		for l := 1; l <= 5; l++ {
			cells = append(cells, cell(of[l][code]))
		}
		return strings.Join(cells, " ")
	}
	for _, c := range course.Counts() {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", c.Code, row(c.Code, print), cell(print[6][c.Code]), row(c.Code, ours))
	}
	b.WriteString("\nWhat is counted:\n\n")
	for _, c := range course.Counts() {
		fmt.Fprintf(&b, "- `%s`: %s\n", c.Code, c.Says)
	}
	file := filepath.Join("..", "..", "docs", "course.md")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	head, _, ok := strings.Cut(string(text), courseBegin)
	if !ok {
		t.Fatalf("%s has no place for the table", file)
	}
	if err := os.WriteFile(file, []byte(head+courseBegin+b.String()), 0o666); err != nil {
		t.Fatal(err)
	}
}
