package hand

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// page makes a score of a line for each hand.
func page(t testing.TB, right, left string) score.Score {
	t.Helper()
	var s score.Score
	var end theory.Dur
	for h, text := range map[score.Hand]string{score.Right: right, score.Left: left} {
		for _, st := range line(t, text) {
			for _, k := range st.Keys {
				n := score.Note{Hand: h, Voice: 1, At: st.At, Dur: st.End - st.At, Pitch: spelled(k)}
				if st.Grace {
					n.Grace = 1
				}
				if st.Rolled {
					n.Marks = score.Rolled
				}
				s.Notes = append(s.Notes, n)
				end = max(end, n.End())
			}
		}
	}
	m := leadsheet.Meter{Beats: 4, Unit: 4}
	for at := theory.Dur(0); at < end; at += m.Bar() {
		s.Bars = append(s.Bars, score.Bar{At: at, Dur: m.Bar(), Meter: m, Number: len(s.Bars) + 1})
	}
	return s.Finish()
}

func spelled(key int) theory.Pitch {
	for _, l := range []theory.Name{{Letter: theory.C}, {Letter: theory.D}, {Letter: theory.E}, {Letter: theory.F}, {Letter: theory.G}, {Letter: theory.A}, {Letter: theory.B}} {
		if l.Class() == key%12 {
			return l.At(key/12 - 1)
		}
	}
	p := spelled(key - 1)
	p.Alter = 1
	return p
}

func printed(s score.Score) (n int) {
	for _, x := range s.Notes {
		if x.Finger != 0 {
			n++
		}
	}
	return n
}

func TestFingerScore(t *testing.T) {
	s := page(t, "E4+G4+C5:1 ^D#5 E5:1 F5:1 G5:1 C5:4", "C3:1 E3+G3:1 C3:1 E3+G3:1 ~C3+E4:4")
	before := slices.Clone(s.Notes)
	f := FingerScore(s, Default())
	for _, n := range f.Notes {
		if n.Finger < 1 || n.Finger > 5 {
			t.Errorf("%s has finger %d", n.Pitch, n.Finger)
		}
	}
	if !slices.Equal(s.Notes, before) {
		t.Error("the argument was changed")
	}
	// Fingered once, it stays as it is, and a teacher's finger is kept.
	if again := FingerScore(f, Default()); !slices.Equal(again.Notes, f.Notes) {
		t.Error("fingering a fingered score changed it")
	}
	s.Notes = slices.Clone(before)
	for i := range s.Notes {
		if s.Notes[i].Pitch.MIDI() == 77 { // F5
			s.Notes[i].Finger = 1
		}
	}
	for _, n := range FingerScore(s, Default()).Notes {
		if n.Pitch.MIDI() == 77 && n.Finger != 1 {
			t.Errorf("the finger asked for became %d", n.Finger)
		}
	}
}

// Two voices on one key: one finger, printed once.
func TestFingerScoreUnison(t *testing.T) {
	s := page(t, "C4:4", "C3:4")
	s.Notes = append(s.Notes, score.Note{ID: "x", Hand: score.Right, Voice: 2, Dur: theory.Whole, Pitch: spelled(60)})
	f := FingerScore(s.Finish(), Default())
	if n := printed(f); n != 2 {
		t.Errorf("%d fingers on two keys", n)
	}
}

// less lists what a page can show, from every finger on.
var less = []Printed{All, Bars, Positions, Few, Fewest}

func TestPrint(t *testing.T) {
	right := "C4:1 D4:1 E4:1 F4:1 G4:1 A4:1 B4:1 C5:1 D5:1 C5:1 B4:1 A4:1 G4:2 C4+E4+G4:2 C4+E4+G4:2 G4+C5+E5:2 C4:1 G4:1 E4:1 G4:1"
	left := "C3:1 E3+G3:1 C3:1 E3+G3:1 C3:1 E3+G3:1 C3:1 E3+G3:1 G2:1 D3:1 G3:1 D3:1 C3:4 C3:4 C3:4"
	s := FingerScore(page(t, right, left), Default())
	all := len(s.Notes)
	shown := map[Printed]int{}
	for _, what := range less {
		p := Print(s, what)
		shown[what] = printed(p)
		t.Logf("%d: %d of %d", what, shown[what], all)
		for i, n := range p.Notes {
			if n.Finger != 0 && n.Finger != s.Notes[i].Finger {
				t.Errorf("%d: a finger changed in print", what)
			}
		}
	}
	if shown[All] != all {
		t.Errorf("all shows %d of %d", shown[All], all)
	}
	for i := range less[1:] {
		if shown[less[i+1]] > shown[less[i]] {
			t.Errorf("%d shows more than %d", less[i+1], less[i])
		}
	}
	if shown[Fewest] == 0 || shown[Fewest] > all/3 || shown[Positions] > all/2 {
		t.Errorf("shown: %v of %d", shown, all)
	}
	if n := printed(Print(s, None)); n != 0 {
		t.Errorf("none shows %d", n)
	}
	// The scale's crossing is always shown: the thumb after a higher
	// finger on the way up.
	crossing := -1
	for i, n := range s.Notes {
		for _, m := range s.Notes[:i] {
			if n.Hand == score.Right && m.Hand == score.Right && m.End() == n.At && n.At < 8*theory.Quarter &&
				m.Pitch.MIDI() < n.Pitch.MIDI() && m.Finger > n.Finger && n.Finger == 1 {
				crossing = i
			}
		}
	}
	if crossing < 0 {
		t.Fatal("no thumb passes in a scale of nine notes")
	}
	for _, what := range less {
		if n := Print(s, what).Notes[crossing]; n.Finger == 0 {
			t.Errorf("%d hides the thumb passing under to %s", what, n.Pitch)
		}
	}
}

// Where it is hardest a finger is always shown: where a run begins and
// after a leap; and a hand is not left alone for three bars.
func TestPrintWhereItIsHard(t *testing.T) {
	const figure = "C3:1 E3+G3:1 C3:1 E3+G3:1 "
	s := FingerScore(page(t,
		"C4:1 D4:1 E4:1 F4:1 G4:1 E4:1 D4:1 C4:1 G4:0.25 F4:0.25 E4:0.25 D4:0.25 C4:3 "+
			"C4:1 E4:1 G4:1 E5:1 D5:1 C5:1 B4:1 C5:1 C5:4 C5:4 C5:4 C5:4",
		strings.Repeat(figure, 9)), Default())
	at := func(q float64) theory.Dur { return theory.Dur(q * float64(theory.Quarter)) }
	for _, what := range less[1:] {
		p := Print(s, what)
		shown := map[score.Hand]map[theory.Dur]bool{score.Right: {}, score.Left: {}}
		for _, n := range p.Notes {
			if n.Finger != 0 {
				shown[n.Hand][n.At] = true
			}
		}
		if !shown[score.Right][at(8)] || shown[score.Right][at(8.25)] {
			t.Errorf("%d: not the beginning of a run alone", what)
		}
		if !shown[score.Right][at(15)] {
			t.Errorf("%d: no finger after a leap", what)
		}
		for h, where := range shown {
			bare := 0
			for _, b := range s.Bars {
				bare++
				for d := range where {
					if d >= b.At && d < b.End() {
						bare = 0
					}
				}
				if bare > longestBare {
					t.Errorf("%d, %s hand: no finger in bars %d to %d", what, h, b.Number-bare+1, b.Number)
				}
			}
		}
	}
}

// The fingers do not hang on the order in which the notes are listed.
func TestFingerScoreInAnyOrder(t *testing.T) {
	s := page(t, "E4+G4+C5:1 D5:1 E5:1 F5:1 G5:1 C5:4", "C3:1 E3+G3:1 C3:1 E3+G3:1 C3+E4:4")
	fingers := func(s score.Score) string {
		var w []string
		for _, n := range FingerScore(s, Default()).Notes {
			w = append(w, fmt.Sprint(n.At, " ", n.Pitch, " ", n.Finger))
		}
		slices.Sort(w)
		return strings.Join(w, ", ")
	}
	want := fingers(s)
	r := rand.New(rand.NewPCG(1, 2))
	for range 10 {
		o := s
		o.Notes = slices.Clone(s.Notes)
		r.Shuffle(len(o.Notes), func(i, j int) { o.Notes[i], o.Notes[j] = o.Notes[j], o.Notes[i] })
		if got := fingers(o); got != want {
			t.Fatalf("%s\nand in another order\n%s", want, got)
		}
	}
}

// A silent change goes to another finger, and one is made where a held note needs it: a
// thumb under four keys more, its own to be held under a chord below (see TestFingerHeld).
func TestSilentChangeIsPrinted(t *testing.T) {
	s := page(t, "C4+D4+E4+F4+G4:1", "")
	for i := range s.Notes {
		switch s.Notes[i].Pitch.MIDI() {
		case 60:
			s.Notes[i].Dur = 3 * theory.Quarter
		case 67:
			s.Notes[i].Dur = 2 * theory.Quarter
		}
	}
	for i, k := range []int{57, 53, 55, 57} {
		s.Notes = append(s.Notes, score.Note{Hand: score.Right, Voice: 2, At: theory.Quarter * theory.Dur(min(i, 1)+1), Dur: theory.Quarter, Pitch: spelled(k)})
	}
	wide := Profile{Right: 220 * Millimetre, Left: 220 * Millimetre}
	changed := 0
	for _, n := range FingerScore(s.Finish(), wide).Notes {
		if n.FingerTo == 0 {
			continue
		}
		changed++
		if n.FingerTo == n.Finger || n.Pitch.MIDI() != 60 || n.Finger != 1 {
			t.Errorf("%s changes from %d to %d", n.Pitch, n.Finger, n.FingerTo)
		}
	}
	if changed != 1 {
		t.Errorf("%d silent changes", changed)
	}
}

// A third lies best under fingers with one between them, then under thumb and second
// finger, worst under two neighbours; a wide interval under the outer fingers. Common
// practice, no source.
func TestDyads(t *testing.T) {
	f := newFingerer(Default(), score.Right, standard)
	for _, d := range []int{3, 4} {
		for a := 1; a <= 3; a++ {
			if got := f.dyad(d, a, a+2); got != 0 {
				t.Errorf("%d twelfths under %d and %d: %d", d, a, a+2, got)
			}
		}
		thumb := f.dyad(d, 1, 2)
		for a := 2; a <= 4; a++ {
			if got := f.dyad(d, a, a+1); got <= thumb || thumb <= 0 {
				t.Errorf("%d twelfths under %d and %d: %d, under 1 and 2: %d", d, a, a+1, got, thumb)
			}
		}
	}
	for d := 6; d <= 16; d++ {
		if f.dyad(d, 1, 5) != 0 || f.dyad(d, 2, 5) == 0 || (f.dyad(d, 1, 4) > 0) != (d > 13 || d == 10 || d == 11) {
			t.Errorf("%d twelfths: %d under 1 and 5, %d under 2 and 5, %d under 1 and 4", d, f.dyad(d, 1, 5), f.dyad(d, 2, 5), f.dyad(d, 1, 4))
		}
	}
}
