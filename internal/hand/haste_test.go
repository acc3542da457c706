package hand

import (
	"strings"
	"testing"

	"gradatim/score"
	"gradatim/theory"
)

// TestHaste: between a chord and what follows it in a fifth of a second, and between notes a
// quarter of a second apart, no finger but the thumb gets past another; common practice, no
// source.
func TestHaste(t *testing.T) {
	for _, tt := range []struct {
		name   string
		legato bool
		wait   Micros // an eighth
		keys   [][]int
		beats  []theory.Dur // eighths
	}{
		{"a chord within a running line", true, Second / 5, [][]int{{76}, {73}, {69}, {62, 68, 71}, {73}, {74}}, []theory.Dur{1, 1, 1, 1, 1, 1}},
		{"a sixth, and on above it", true, Second / 6, [][]int{{66, 74}, {76}, {78}, {74}, {69, 74, 76}}, []theory.Dur{1, 1, 1, 1, 2}},
		{"a new place beside the old one", false, Second / 4, [][]int{{71}, {67}, {64}, {64}, {74}, {76}, {78}, {79}, {78}, {76}}, []theory.Dur{1, 1, 1, 2, 1, 2, 1, 1, 1, 1}},
	} {
		var strikes []Strike
		at := theory.Dur(0)
		for i, ks := range tt.keys {
			s := Strike{At: at, End: at + tt.beats[i]*theory.Eighth, Keys: ks, Legato: tt.legato && i > 0}
			if i > 0 {
				s.Wait = tt.wait * Micros(tt.beats[i-1])
			}
			strikes, at = append(strikes, s), s.End
		}
		fs := Finger(Default(), score.Right, strikes)
		for i := 1; i < len(fs); i++ {
			a, b := fs[i-1].Keys[len(fs[i-1].Keys)-1], fs[i].Keys[0]
			d := strikes[i].Keys[0] - strikes[i-1].Keys[len(strikes[i-1].Keys)-1]
			if len(strikes[i].Keys) == 1 && strikes[i].Wait < haste && a != 1 && b != 1 && a != b && (d > 0) == (b < a) {
				t.Errorf("%s, strike %d: %d after %d, %d keys away: %v", tt.name, i, b, a, d, fs)
			}
		}
	}
}

// TestChordFingers: of a chord of three keys as a hand takes it by itself the finger on the
// little finger's side is printed and no other; where the hand would not, those that tell, and all where the outer one is a 3 or less.
// Common practice, no source.
func TestChordFingers(t *testing.T) {
	for _, tt := range []struct {
		hand    score.Hand
		keys    string
		fingers [3]uint8
		want    [3]uint8
	}{
		{score.Right, "C4 E4 G4", [3]uint8{1, 3, 5}, [3]uint8{0, 0, 5}},
		{score.Right, "C4 E4 G4", [3]uint8{1, 2, 4}, [3]uint8{1, 0, 4}},
		{score.Right, "C4 E4 G4", [3]uint8{2, 3, 5}, [3]uint8{2, 0, 5}},
		{score.Right, "C4 E4 G4", [3]uint8{1, 4, 5}, [3]uint8{0, 4, 5}},
		{score.Left, "C3 E3 G3", [3]uint8{5, 3, 1}, [3]uint8{5, 0, 0}},
		{score.Left, "C3 E3 G3", [3]uint8{5, 3, 2}, [3]uint8{5, 0, 2}},
		{score.Left, "F#3 A3 C4", [3]uint8{3, 2, 1}, [3]uint8{3, 2, 1}},
	} {
		s := score.Score{Bars: []score.Bar{{Dur: theory.Whole}}}
		for i, k := range strings.Fields(tt.keys) {
			p, err := theory.ParsePitch(k)
			if err != nil {
				t.Fatal(err)
			}
			s.Notes = append(s.Notes, score.Note{Hand: tt.hand, Voice: 1, Dur: theory.Whole, Pitch: p, Finger: tt.fingers[i]})
		}
		var got [3]uint8
		for i, n := range Print(s, Few).Notes {
			got[i] = n.Finger
		}
		if got != tt.want {
			t.Errorf("%v %s by %v: %v printed, want %v", tt.hand, tt.keys, tt.fingers, got, tt.want)
		}
	}
}

// TestOvertaking: in haste a finger that gets past another costs more than any that stand in
// the order of their keys, by as much as a broken slur, on a step or a third.
func TestOvertaking(t *testing.T) {
	f := newFingerer(Default(), score.Right, standard)
	for _, d := range []int{-4, -3, -2, -1, 1, 2, 3, 4} {
		cost := func(a, b int) int {
			from, to := Strike{Keys: []int{60}}, Strike{Keys: []int{60 + d}, Wait: Second / 5}
			s, u := stage{Strike: &from, n: 1}, stage{Strike: &to, n: 1, from: d, join: 2}
			s.down[0], u.down[0] = 60, 60+d
			c, _ := f.step(&s, &u, a, b, 0)
			return c
		}
		dearest := 0
		for a := 1; a < 5; a++ {
			for b := a + 1; b <= min(5, a+2); b++ {
				if d > 0 {
					dearest = max(dearest, cost(a, b))
				} else {
					dearest = max(dearest, cost(b, a))
				}
			}
		}
		for a := 2; a < 5; a++ {
			for b := a + 1; b <= 5; b++ {
				over := cost(b, a)
				if d < 0 {
					over = cost(a, b)
				}
				if over <= dearest+f.w.slurred {
					t.Errorf("%d keys: %d and %d overtaking cost %d, fingers in order up to %d", d, a, b, over, dearest)
				}
			}
		}
	}
}
