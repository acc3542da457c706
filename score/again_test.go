package score_test

import (
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// TestSecondTime: words such as "2nd time f" hold on that time alone, until the page's next
// sign, over an ending too; what is printed for another time says nothing. The wording is
// common practice.
func TestSecondTime(t *testing.T) {
	s := scoretest.MustParse(`
meter 4/4
key C
R1 C5:1 D5:1 E5:1 F5:1 G5:1
sign 0 R dynamic mf
sign 0 R words 2nd time f
sign 4 R dynamic p`)
	s.Bars[2].Signs = leadsheet.Signs{Ending: 1, EndingOpens: true, Times: 2}
	s.Bars[3].Signs = leadsheet.Signs{Ending: leadsheet.PassesOf(2), EndingOpens: true}
	played, order := s.Played()
	if len(order) != 7 {
		t.Fatalf("played as %v", order)
	}
	want := []string{"mf", "mf", "mf", "f", "f", "f", "p"} // bars 1 2 3, 1 2 4, 5
	for i, b := range played.Bars {
		if got := played.DynamicAt(b.At+theory.Eighth, score.Right); got != want[i] {
			t.Errorf("bar %d as played: %s, want %s", i+1, got, want[i])
		}
	}
	for _, tt := range []struct {
		text string
		time int
		sign string
	}{{"2nd time f", 2, "f"}, {"2. Mal mp", 2, "mp"}, {"(2nd time p)", 2, "p"}, {"3rd time pp", 3, "pp"}, {"2nd time only", 0, ""}, {"cresc.", 0, ""}} {
		time, sign, ok := score.Direction{Kind: score.Words, Text: tt.text}.OnTime()
		if time != tt.time || sign != tt.sign || ok != (tt.sign != "") {
			t.Errorf("%q: %d, %q, %v", tt.text, time, sign, ok)
		}
	}
}
