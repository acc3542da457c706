package arrange

import (
	"slices"
	"testing"

	"gradatim/internal/choice"
	"gradatim/score"
)

// TestLoud: a sign that a teacher asks for stands where she has it and holds for as long
// as she says, without hairpins inside; after it what the plan has holds again.
func TestLoud(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:8 | Bb D5:8 | C C5:8 | F A4:8 | F C5:8 | Bb D5:8 | C C5:8 | F A4:8 | F C5:8 | Bb D5:8 | C C5:8 | F A4:8")
	s.Bars[0].Section, s.Bars[4].Section, s.Bars[8].Section = "A", "B", "A"
	for level := 1; level <= 5; level++ {
		plain := paged(t, planned(t, s, level))
		asked := choice.Choice{Level: level, At: s.Bars[4].At, Until: s.Bars[7].End(), Fix: choice.Loud{Sign: "pp"}}
		a := paged(t, planned(t, s, level, asked))
		for i, b := range s.Bars {
			want := plain.Score.DynamicAt(b.At, score.Right)
			if i >= 4 && i < 8 {
				want = "pp"
			}
			if got := a.Score.DynamicAt(b.At, score.Right); got != want {
				t.Errorf("level %d, bar %d: %s, want %s", level, i+1, got, want)
			}
		}
		if slices.ContainsFunc(a.Score.Directions, func(d score.Direction) bool {
			return d.At >= asked.At && d.At < asked.Until && (d.Kind == score.Crescendo || d.Kind == score.Diminuendo)
		}) {
			t.Errorf("level %d: it grows or fades where one sign was asked for", level)
		}
		if a.Form.Sections[1].Dynamic != "pp" {
			t.Errorf("level %d: the plan says %s", level, a.Form.Sections[1].Dynamic)
		}
	}
}
