package engrave

import (
	"context"
	"strings"
	"testing"

	"gradatim/internal/musicxml"
	"gradatim/internal/notate"
	"gradatim/score"
)

// Four bars out of the middle of a page: their notes and no others, with clef, key,
// metre and the number of the first, on a picture that ends where the music does.
func TestPart(t *testing.T) {
	whole, _, err := musicxml.ReadScore([]byte(readFile(t, "testdata/original-t2.3.musicxml")), musicxml.Options{})
	if err != nil {
		t.Fatal(err)
	}
	settled, _ := notate.Settled(whole)
	xml, err := musicxml.Write(settled.Excerpt(8, 11))
	if err != nil {
		t.Fatal(err)
	}
	doc, err := engraver(t).Part(context.Background(), xml, Layout{})
	if err != nil {
		t.Fatal(err)
	}
	if len(doc.Warnings) > 0 || doc.Pages() != 1 || len(doc.Systems) != 1 {
		t.Fatalf("%d pages, %d systems, %v", doc.Pages(), len(doc.Systems), doc.Warnings)
	}
	w, h := doc.Size()
	for _, n := range whole.Notes {
		box, on := doc.Boxes[n.ID]
		inside := n.At >= whole.Bars[8].At && n.At < whole.Bars[11].End()
		held := n.At < whole.Bars[8].At && n.End() > whole.Bars[8].At
		if on != (inside || held) {
			t.Errorf("%s in bar %d: printed %v", n.ID, whole.BarAt(n.At)+1, on)
		}
		if on && (box.X < 0 || box.Y < 0 || box.X+box.W > w || box.Y+box.H > h) {
			t.Errorf("%s lies at %+v, outside %g × %g mm", n.ID, box, w, h)
		}
	}
	if ink := doc.Ink(0); ink.X < 1 || ink.Y < 1 || ink.X+ink.W > w-1 || ink.Y+ink.H > h-1 || ink.H < h-10 || ink.W < w-10 {
		t.Errorf("the music fills %+v of %g × %g mm", ink, w, h)
	}
	svg := string(doc.SVG(0))
	for _, class := range []string{"clef", "keySig", "meterSig", "mNum"} {
		if !strings.Contains(svg, `class="`+class) {
			t.Errorf("no %s", class)
		}
	}
	if !strings.Contains(svg, ">9<") && !strings.Contains(svg, "9</text>") {
		t.Error("the first bar has no number")
	}
}

// Any bar of the score can be engraved alone.
func TestPartOfEachBar(t *testing.T) {
	s, _, err := musicxml.ReadScore([]byte(readFile(t, "testdata/original-t4.5.musicxml")), musicxml.Options{})
	if err != nil {
		t.Fatal(err)
	}
	settled, _ := notate.Settled(s)
	for i := range s.Bars {
		ex := settled.Excerpt(i, i)
		xml, err := musicxml.Write(ex)
		if err != nil {
			t.Fatal(err)
		}
		doc, err := engraver(t).Part(context.Background(), xml, Layout{})
		if err != nil {
			t.Fatalf("bar %d: %v", i+1, err)
		}
		for _, n := range ex.Notes {
			if _, on := doc.Boxes[n.ID]; !on && !n.Marks.Has(score.Hidden) {
				t.Errorf("bar %d: %s is not printed", i+1, n.ID)
			}
		}
	}
}

// TestColumn: a score for a screen has more systems where the column is narrow, each within
// it, no title, and no paper around the music.
func TestColumn(t *testing.T) {
	xml := []byte(readFile(t, "testdata/original-t2.3.musicxml"))
	before := 0
	for _, width := range []float64{170, 90} {
		doc, err := engraver(t).Column(context.Background(), xml, Layout{Paper: Paper{Name: "column", Width: width}})
		if err != nil {
			t.Fatal(err)
		}
		w, h := doc.Size()
		if doc.Pages() != 1 || w != width || len(doc.Systems) <= before {
			t.Errorf("%g mm: %d pages %g wide, %d systems, %d before", width, doc.Pages(), w, len(doc.Systems), before)
		}
		before = len(doc.Systems)
		last := -1.0
		for _, s := range doc.Systems {
			if s.X < 0 || s.X+s.W > w || s.Y < last || s.Y+s.H > h {
				t.Errorf("%g mm: a system lies at %+v, after %g", width, s, last)
			}
			last = s.Y + s.H
		}
		if ink := doc.Ink(0); ink.Y > 2*partMargin || ink.Y+ink.H < h-2*partMargin {
			t.Errorf("%g mm: the music fills %+v of %g mm", width, ink, h)
		}
	}
}
