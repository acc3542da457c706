package score_test

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/score"
	"gradatim/theory"
)

// A sign holds for its staff until the next one, sfz for one strike alone: common
// practice, no source.
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

// Where a hairpin leads, and how loud it is on the way, for both hands: whole notes,
// a bar each; steps in thousandths, 5000 being mf.
func TestLoudness(t *testing.T) {
	for _, tt := range []struct {
		name, signs string
		right, left string // at the beginning of each of five bars
	}{
		{"nothing said", "", "5000 5000 5000 5000 5000", "5000 5000 5000 5000 5000"},
		{"signs alone", "sign 1 R dynamic pp\nsign 3 R dynamic ff", "5000 2000 2000 7000 7000", "5000 2000 2000 7000 7000"},
		{"to the sign at its end", "sign 0 R dynamic p\nsign 0 R cresc\nsign 4 R hairpin end\nsign 4 R dynamic ff", "3000 4000 5000 6000 7000", "3000 4000 5000 6000 7000"},
		{"to a sign a little later", "sign 0 R cresc\nsign 15/4 R hairpin end\nsign 4 R dynamic f", "5000 5266 5533 5800 6000", "5000 5266 5533 5800 6000"},
		{"one step where nothing is said", "sign 0 R dynamic f\nsign 1 R dim\nsign 3 R hairpin end", "6000 6000 5500 5000 5000", "6000 6000 5500 5000 5000"},
		{"ended by a sign", "sign 0 R dynamic pp\nsign 0 R cresc\nsign 4 R dynamic mf", "2000 2750 3500 4250 5000", "2000 2750 3500 4250 5000"},
		{"suddenly soft after growing", "sign 0 R dynamic mf\nsign 0 R cresc\nsign 2 R hairpin end\nsign 2 R dynamic p", "5000 5500 3000 3000 3000", "5000 5500 3000 3000 3000"},
		{"one for each hand", "sign 0 R dynamic mf\nsign 0 R cresc\nsign 4 R hairpin end\nsign 0 L dim\nsign 4 L hairpin end", "5000 5250 5500 5750 6000", "5000 4750 4500 4250 4000"},
		{"one for both, one after another", "sign 0 L cresc\nsign 1 L hairpin end\nsign 1 R dim\nsign 2 R hairpin end", "5000 6000 5000 5000 5000", "5000 6000 5000 5000 5000"},
		{"no louder than fff", "sign 0 R dynamic fff\nsign 0 R cresc\nsign 2 R hairpin end", "8000 8000 8000 8000 8000", "8000 8000 8000 8000 8000"},
		{"in words", "sign 0 R dynamic p\nsign 1 R words cresc. poco a poco\nsign 3 R dynamic f", "3000 3000 4500 6000 6000", "3000 3000 4500 6000 6000"},
		{"in words, to nowhere", "sign 1 R words dim.", "5000 5000 4000 4000 4000", "5000 5000 4000 4000 4000"},
	} {
		s := scoretest.MustParse("meter 4/4\nbars 5\nR1 C5:1 C5:1 C5:1 C5:1 C5:1\nL1 C3:1 C3:1 C3:1 C3:1 C3:1\n" + tt.signs)
		for h, want := range map[score.Hand]string{score.Right: tt.right, score.Left: tt.left} {
			var got []string
			l := s.Loudness(h)
			for bar := range 5 {
				got = append(got, fmt.Sprint(int(l.At(theory.Dur(bar)*theory.Whole))))
			}
			if strings.Join(got, " ") != want {
				t.Errorf("%s, %s hand: %s, want %s (%v)", tt.name, h, strings.Join(got, " "), want, l)
			}
		}
	}
}

// A hairpin that no sign ends goes to the next sign of its staff; one that another
// cuts short ends there.
func TestHairpins(t *testing.T) {
	s := scoretest.MustParse("meter 4/4\nbars 6\nsign 0 R cresc\nsign 1 R dynamic f\nsign 2 R dim\nsign 3 R cresc\nsign 3 R hairpin end\nsign 5 L dim")
	var got []string
	for _, p := range s.Hairpins() {
		got = append(got, fmt.Sprintf("%s %s-%s %v", p.Hand, p.From, p.To, p.Fades))
	}
	if want := "right 0-1 false, right 2-3 true, right 3-6 false, left 5-6 true"; strings.Join(got, ", ") != want {
		t.Errorf("%s, want %s", strings.Join(got, ", "), want)
	}
}
