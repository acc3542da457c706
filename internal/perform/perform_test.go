package perform_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/scoretest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// tune is four bars of a straight tune over spread chords.
const tune = `
title Small Thing
level 3
pedal by ear
meter 4/4
key F
tempo 100
straight
R1 A4:1/4 C5:1/4 D5:1/2 C5:1/4 A4:1/4 G4:1/2 F4:1/4 A4:1/4 C5:3/8 D5:1/8 A4:1/4 G4:1/4 F4:1/2
L1 F3:1/8 C4:1/8 A3:1/8 C4:1/8 Bb2:1/8 F3:1/8 D3:1/8 F3:1/8 F3:1/8 C4:1/8 A3:1/8 C4:1/8 C3:1/8 G3:1/8 E3:1/8 G3:1/8 F3:1/2 D3:1/2 C3:1/2 F2:1/2
chord 0 F
chord 1/2 Bb
chord 1 F
chord 3/2 C7
chord 2 F
chord 5/2 Dm
chord 3 C7
chord 7/2 F
`

// walk is four bars of swing over a walking bass.
const walk = `
title Walking Thing
level 5
pedal by ear
meter 4/4
key F
tempo 132
swing 2:1
R1 A4:1/8 C5:1/8 D5:1/4 C5:1/8 A4:3/8 F4:1/3*tenuto r:1/6 D5:1/2 A4:1/12 Bb4:1/12 C5:1/12 D5:1/16 C5:1/16 A4:1/8 F4:1/2 F4:1/1
L1 F2:1/4 A2:1/4 Bb2:1/4 B2:1/4 C3:1/4 D3:1/4 Bb2:1/4 C3:1/4 F2:1/4 G2:1/4 A2:1/4 C3:1/4 F2:1/1
chord 0 F
chord 1/2 Bb
chord 1 F
chord 3/2 C7
chord 2 F
`

func play(t testing.TB, text string, o perform.Options) perform.Performance {
	t.Helper()
	p, err := perform.Perform(scoretest.MustParse(text), o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// at returns the first note of a hand that starts at a position.
func at(t testing.TB, p perform.Performance, hand score.Hand, num, den int64) perform.Note {
	t.Helper()
	d, _ := theory.Fraction(num, den)
	for _, n := range p.Notes {
		if n.At == d && n.Hand == hand {
			return n
		}
	}
	t.Fatalf("no note of the %v hand at %d/%d", hand, num, den)
	return perform.Note{}
}

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s: %.4f, want %.4f ± %g", what, got, want, within)
	}
}

func ExamplePerform() {
	s := scoretest.MustParse("tempo 60\nR1 C5:1/4 D5:1/4 E5:1/2\nL1 C3:1/1")
	p, err := perform.Perform(s, perform.Options{Even: true, Click: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range p.Notes {
		fmt.Printf("%.2f s %v %d\n", n.Start, n.Hand, n.Key)
	}
	// Output:
	// 0.10 s left 48
	// 0.10 s right 72
	// 1.10 s right 74
	// 2.10 s right 76
}

func TestHandsArePartsOfTheWhole(t *testing.T) {
	for _, text := range []string{tune, walk} {
		whole := play(t, text, perform.Options{}).Notes
		for _, pair := range [][2]perform.Hands{{perform.RightAlone, perform.LeftAlone}, {perform.Melody, perform.WithoutTune}} {
			var sum []perform.Note
			for _, h := range pair {
				part := play(t, text, perform.Options{Hands: h}).Notes
				if len(part) == 0 || len(part) == len(whole) {
					t.Fatalf("%v has %d of %d notes", h, len(part), len(whole))
				}
				sum = append(sum, part...)
			}
			if len(sum) != len(whole) {
				t.Fatalf("%v: %d notes, the whole has %d", pair, len(sum), len(whole))
			}
			for _, n := range sum {
				i := slices.IndexFunc(whole, func(w perform.Note) bool { return w.ID == n.ID && w.Start == n.Start })
				if i < 0 || whole[i].Velocity != n.Velocity || whole[i].End > n.End {
					t.Errorf("%s sounds differently alone", n.ID)
				}
			}
		}
	}
}

func TestBarsAndLoop(t *testing.T) {
	p := play(t, tune, perform.Options{From: 2, To: 3, Loop: 3, Even: true})
	if p.Timing.Passes != 3 {
		t.Fatalf("%d passes", p.Timing.Passes)
	}
	near(t, "length", p.Timing.End-p.Timing.Start, 3*2*4*0.6, 1e-4)
	one := play(t, tune, perform.Options{From: 2, To: 3, Even: true})
	if len(p.Notes) != 3*len(one.Notes) {
		t.Errorf("%d notes in three passes, %d in one", len(p.Notes), len(one.Notes))
	}
	for _, n := range one.Notes {
		if n.At < theory.Whole || n.At >= 3*theory.Whole {
			t.Errorf("%s at %s is outside the bars", n.ID, n.At)
		}
		if n.End > one.Timing.End+0.2 {
			t.Errorf("%s sounds beyond the last bar", n.ID)
		}
	}
	at, pass, ok := p.Timing.Position(p.Timing.Start + 4*0.6*2 + 0.3)
	if at != theory.Whole+theory.Eighth || pass != 1 || !ok {
		t.Errorf("position %v in pass %d, %v", at, pass, ok)
	}
	// A note that is held into the first bar is struck there.
	held := play(t, "tempo 60\nR1 C5:3/4 D5:3/4 E5:1/2", perform.Options{From: 2, To: 2, Even: true})
	if held.Notes[0].Key != 74 || math.Abs(held.Notes[0].Start-perform.Lead) > 1e-6 {
		t.Errorf("bar 2 begins with %v", held.Notes[0])
	}
}

func TestTranspose(t *testing.T) {
	a, b := play(t, tune, perform.Options{}), play(t, tune, perform.Options{Transpose: -5})
	for i := range a.Notes {
		x := a.Notes[i]
		j := slices.IndexFunc(b.Notes, func(n perform.Note) bool { return n.ID == x.ID && n.Start == x.Start })
		if j < 0 || b.Notes[j].Key != x.Key-5 {
			t.Fatalf("%s is not moved", x.ID)
		}
	}
}

func TestOneKeyIsStruckOnce(t *testing.T) {
	p := play(t, "tempo 60\nR1 C4:1/4 C4:1/4 D4:1/2\nL1 C4:1/2 D4:1/8 D4:3/8", perform.Options{Even: true, Click: true})
	down := map[int]float64{}
	shared := 0
	for _, n := range p.Notes {
		if n.Shared {
			shared++
			continue
		}
		if n.Start < down[n.Key] {
			t.Errorf("%s strikes key %d while it is down", n.ID, n.Key)
		}
		down[n.Key] = n.End
	}
	if shared != 2 {
		t.Errorf("%d shared strikes, want the left hand's C and D", shared)
	}
	if got := len(p.Sequence().Notes); got != len(p.Notes)-2 {
		t.Errorf("%d notes sound", got)
	}
}

func TestBadWishes(t *testing.T) {
	s := scoretest.MustParse(tune)
	for _, tt := range []struct {
		name string
		s    score.Score
		o    perform.Options
		code string
	}{
		{"nothing", score.Score{}, perform.Options{}, "score-empty"},
		{"no notes", score.Score{Bars: s.Bars}, perform.Options{}, "score-empty"},
		{"ten times the tempo", s, perform.Options{Tempo: perform.Tempo{Percent: 1000}}, "tempo-range"},
		{"a hundredth", s, perform.Options{Tempo: perform.Tempo{Percent: 1}}, "tempo-range"},
		{"backwards", s, perform.Options{Tempo: perform.Tempo{PerMinute: -60}}, "tempo-range"},
		{"bars beyond the end", s, perform.Options{From: 3, To: 9}, "bars-range"},
		{"bars that are not there", s, perform.Options{From: 40, To: 41}, "bars-range"},
		{"bars turned round", s, perform.Options{From: 3, To: 2}, "bars-range"},
		{"off the piano", s, perform.Options{Transpose: 60}, "transpose-range"},
		{"a loop too many", s, perform.Options{Loop: 1e6}, "loop-range"},
		{"counting for ever", s, perform.Options{CountIn: 1e6}, "count-in-range"},
	} {
		_, err := perform.Perform(tt.s, tt.o)
		ps, ok := err.(leadsheet.Problems)
		if !ok || len(ps) == 0 || ps[0].Code != tt.code {
			t.Errorf("%s: %v, want %s", tt.name, err, tt.code)
		}
	}
	if p := play(t, "R1 C5:1/1", perform.Options{}); len(p.Problems) != 1 || p.Problems[0].Code != "tempo-assumed" {
		t.Errorf("a score without tempo: %v", p.Problems)
	}
}
