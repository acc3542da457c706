package edition_test

import (
	"context"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gradatim/internal/course"
	"gradatim/internal/edition"
	"gradatim/internal/musicxml"
	"gradatim/internal/reduction"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/score"
)

var courses = flag.Bool("course", false, "print how accompaniments go over a section, of print and of all open sheets")

// TestCourse counts print and ours.
func TestCourse(t *testing.T) {
	var print, ours [7]course.Course
	for i := range print {
		print[i], ours[i] = course.Course{}, course.Course{}
	}
	pages, err := scoretest.PrintedPages(sharedtest.Path(t, "data/human_pages"))
	if err != nil {
		t.Fatal(err)
	}
	count := func(to course.Course, s score.Score, name string) {
		song, _, err := reduction.OfPage(s, name)
		if err != nil {
			t.Log(err)
			return
		}
		to.Add(course.Of(s, song))
	}
	for _, p := range pages {
		if p.Kind == "sonata movement" || p.Kind == "study" {
			continue
		}
		count(print[p.Level], p.Score, p.ID)
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
	if *courses {
		for i, path := range sheets(t) {
			if i%4 != 0 {
				continue
			}
			as, err := edition.Make(context.Background(), load(t, path), edition.Options{})
			if err != nil {
				t.Error(err)
				continue
			}
			for k, a := range as {
				if !a.Failed {
					count(ours[k+1], a.Score, path)
				}
			}
		}
	}
	for _, c := range course.Counts() {
		line := fmt.Sprintf("%-18s print", c.Code)
		for i := 1; i <= 6; i++ {
			r := print[i][c.Code]
			line += fmt.Sprintf(" %3d%%/%-4d", 100*r.Hits/max(1, r.Of), r.Of)
		}
		line += " ours"
		for i := 1; i <= 5; i++ {
			r := ours[i][c.Code]
			line += fmt.Sprintf(" %3d%%/%-4d", 100*r.Hits/max(1, r.Of), r.Of)
		}
		fmt.Println(line)
	}
}
