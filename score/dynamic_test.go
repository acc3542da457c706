package score_test

import (
	"testing"

	"gradatim/score"
	"gradatim/theory"
)

func TestDynamicAt(t *testing.T) {
	sign := func(bar theory.Dur, h score.Hand, text string) score.Direction {
		return score.Direction{At: bar * theory.Whole, Hand: h, Kind: score.Dynamic, Text: text}
	}
	s := score.Score{Directions: []score.Direction{
		sign(1, score.Left, "p"), sign(1, score.Right, "mf"), // a staff each, in either order
		sign(2, score.Right, "sfz"),
		sign(3, 0, "f"), sign(4, score.Left, "pp"), // one for both
		sign(5, score.Right, "mp"), {At: 5 * theory.Whole, Kind: score.Words, Text: "rit."}, sign(5, score.Left, "p"),
	}}
	for bar, want := range [][2]string{{"", ""}, {"mf", "p"}, {"mf", "p"}, {"f", "f"}, {"pp", "pp"}, {"mp", "p"}} {
		at := theory.Dur(bar) * theory.Whole
		if r, l := s.DynamicAt(at, score.Right), s.DynamicAt(at, score.Left); r != want[0] || l != want[1] {
			t.Errorf("bar %d: %q and %q, not %q", bar, r, l, want)
		}
	}
}
