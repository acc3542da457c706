package perform_test

import (
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/scoretest"
	"gradatim/score"
	"gradatim/theory"
)

func TestMelodyIsBroughtOut(t *testing.T) {
	for _, text := range []string{tune, walk} {
		var loud, rest, n, m float64
		for _, k := range play(t, text, perform.Options{}).Notes {
			if k.Melody {
				loud += float64(k.Velocity)
				n++
			} else {
				rest += float64(k.Velocity)
				m++
			}
		}
		if loud/n < rest/m+10 {
			t.Errorf("melody %.0f, accompaniment %.0f", loud/n, rest/m)
		}
	}
}

func TestDynamics(t *testing.T) {
	p := play(t, `
meter 4/4
key C
tempo 100
R1 C5:1/4 D5:1/4 E5:1/4 G5:1/4 E5:1/8 D5:3/8 C5:1/2 <E4+C5>:1/4 C5:1/4*accent C5:1/4*v-30 C5:1/4
L1 C3:1/2 E3:1/2*ghost C3:1/1 C3:1/1
sign 2 R dynamic p
`, perform.Options{Even: true})
	v := func(hand score.Hand, num, den int64) int { return at(t, p, hand, num, den).Velocity }
	if peak := v(score.Right, 3, 4); peak <= v(score.Right, 0, 1) || peak <= v(score.Right, 3, 2) {
		t.Errorf("the phrase does not rise to its peak: %d, %d, %d", v(score.Right, 0, 1), peak, v(score.Right, 3, 2))
	}
	if ghost := v(score.Left, 1, 2); ghost > 40 {
		t.Errorf("ghost note struck with %d", ghost)
	}
	if sync := v(score.Right, 9, 8); sync <= v(score.Right, 1, 1) {
		t.Errorf("syncopation %d, the beat before %d", sync, v(score.Right, 1, 1))
	}
	if p, mf := v(score.Right, 11, 4), v(score.Right, 0, 1); p > mf-10 {
		t.Errorf("piano %d, mezzo forte %d", p, mf)
	}
	if acc, plain, soft := v(score.Right, 9, 4), v(score.Right, 11, 4), v(score.Right, 5, 2); acc < plain+8 || soft > plain-10 {
		t.Errorf("accent %d, plain %d, 30 %% softer %d", acc, plain, soft)
	}
	for _, n := range p.Notes { // E4 under C5
		if n.At == 2*theory.Whole && n.Key == 64 && n.Velocity > v(score.Right, 11, 4)-8 {
			t.Errorf("an inner note is struck with %d", n.Velocity)
		}
	}
}

// A score read from a file may say which notes are the tune and nothing else:
// then the rest is still bass and chord.
func TestOnlyTheTuneIsNamed(t *testing.T) {
	s := scoretest.MustParse(`
meter 4/4
tempo 100
R1 <C5+E5>:1/2 <D5+F5>:1/2
L1 <C3+G3>:1/2 <G2+D3>:1/2
`)
	for i, n := range s.Notes {
		if n.Pitch.String() == "C5" || n.Pitch.String() == "D5" { // not the top
			s.Notes[i].Origin = score.Origin{Kind: score.Melody, Melody: 1 + i}
		}
	}
	p, err := perform.Perform(s, perform.Options{Even: true})
	if err != nil {
		t.Fatal(err)
	}
	v := map[int]int{}
	for _, n := range p.Notes {
		v[n.Key] = n.Velocity
		if n.Melody != (n.Key == 72 || n.Key == 74) {
			t.Errorf("key %d: tune %v", n.Key, n.Melody)
		}
	}
	if v[72] < v[76]+15 || v[48] < v[55]+5 {
		t.Errorf("struck with %v", v)
	}
}

// A sign of the lower staff is for the left hand; up to two steps below the tune
// are the balance that it has in any case.
func TestHandsApart(t *testing.T) {
	left := func(signs string) int {
		p := play(t, "meter 4/4\nkey C\ntempo 100\nR1 C5:1/1\nL1 C3:1/1\n"+signs, perform.Options{Even: true})
		return at(t, p, score.Left, 0, 1).Velocity
	}
	plain := left("")
	for _, c := range []struct {
		upper, lower string
		change       int // sign of the change against no signs at all
	}{{"mf", "p", 0}, {"mf", "pp", -1}, {"f", "mp", 1}, {"mp", "mp", -1}, {"p", "f", 1}} {
		got := left("sign 0 R dynamic " + c.upper + "\nsign 0 L dynamic " + c.lower)
		if d := got - plain; d < 0 != (c.change < 0) || d > 0 != (c.change > 0) {
			t.Errorf("%s over %s: the left hand strikes with %d, %d without signs", c.upper, c.lower, got, plain)
		}
	}
}
