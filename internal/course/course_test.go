package course_test

import (
	"testing"

	"gradatim/internal/course"
	"gradatim/internal/reduction"
	"gradatim/internal/scoretest"
)

// TestOf counts two phrases of four bars written out by hand: the first goes into the second
// by step, the second ends with one strike.
func TestOf(t *testing.T) {
	s, err := scoretest.Parse(`bars 8
chord 0 C
chord 2 F
chord 3 C
chord 6 G7
chord 7 C
R1 C5:1/4 E5:1/4 G5:1/4 E5:1/4 C5:1/4 E5:1/4 G5:1/4 E5:1/4 F5:1/4 A5:1/4 C6:1/4 A5:1/4 G5:1 C5:1/4 E5:1/4 G5:1/4 E5:1/4 C5:1/4 E5:1/4 G5:1/4 E5:1/4 D5:1/4 F5:1/4 B4:1/4 D5:1/4 C5:1
L1 C3:1/2 G3:1/2 C3:1/2 G3:1/2 F3:1/2 C3:1/2 C3:1/2 A2:1/4 B2:1/4 C3:1/2 G3:1/2 C3:1/2 G3:1/2 G2:1/2 D3:1/2 C3:1`)
	if err != nil {
		t.Fatal(err)
	}
	song, _, err := reduction.OfPage(s, "two phrases")
	if err != nil {
		t.Fatal(err)
	}
	got := course.Of(s, song)
	for _, tt := range []struct {
		code string
		want course.Ratio
	}{
		{course.KeptInside, course.Ratio{Hits: 2, Of: 2}},
		{course.KeptBefore, course.Ratio{Hits: 2, Of: 2}},
		{course.KeptClose, course.Ratio{Hits: 0, Of: 2}},
		{course.KeptOpening, course.Ratio{Hits: 1, Of: 1}},
		{course.FewerClose, course.Ratio{Hits: 1, Of: 2}},
		{course.MoreClose, course.Ratio{Hits: 1, Of: 2}},
		{course.LineClose, course.Ratio{Hits: 1, Of: 2}},
		{course.LineInside, course.Ratio{Hits: 0, Of: 2}},
		{course.OneRhythm, course.Ratio{Hits: 2, Of: 2}},
		{course.CadenceFifth, course.Ratio{Hits: 0, Of: 2}},
		{course.AnswerMore, course.Ratio{Hits: 1, Of: 1}},
	} {
		if got[tt.code] != tt.want {
			t.Errorf("%s: %v, want %v", tt.code, got[tt.code], tt.want)
		}
	}
	for _, c := range course.Counts() {
		if _, ok := got[c.Code]; !ok && c.Code != course.AgainSame && c.Code != course.AgainRhythm && c.Code != course.AgainFuller && c.Code != course.AgainThinner && c.Code != course.AgainHigher {
			t.Errorf("%s was not counted", c.Code)
		}
	}
}
