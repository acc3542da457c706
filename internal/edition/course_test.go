package edition_test

import (
	"context"
	"flag"
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/course"
	"gradatim/internal/edition"
	"gradatim/internal/reduction"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/score"
)

var writeCourse = flag.Bool("course", false, "write docs/course.md anew, from every fourth shared sheet")

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
	for _, a := range corpus.Accompaniments(t) {
		count(print[6], a.Score, a.Name)
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
	sharedtest.WriteFigures(t, "course.md", b.String())
}
