package notate_test

import (
	"math/rand/v2"
	"testing"

	"gradatim/internal/notate"
	"gradatim/internal/scoretest"
	"gradatim/score"
)

// A settled score is written as it was, and a part of it has the clefs and octave
// lines that those bars have in the whole, also where the part alone would be
// written otherwise.
func TestSettled(t *testing.T) {
	high := scoretest.MustParse("bars 8\nR1 C5:1 C5:1 C6:1 E6:1 G6:1 C7:1 C5:1 C5:1\nL1 C3:1 G4:1 C5:1 E5:1 E5:1 C5:1 C3:1 C3:1")
	scores := []score.Score{high}
	for seed := range uint64(60) {
		scores = append(scores, scoretest.Random(rand.New(rand.NewPCG(seed, 21))))
	}
	other := 0
	for i, s := range scores {
		whole, _ := notate.Of(s)
		settled, problems := notate.Settled(s)
		if problems.Err() != nil {
			t.Fatal(problems)
		}
		again, _ := notate.Of(settled)
		if a, b := whole.String(), again.String(); a != b {
			t.Fatalf("score %d, settled:\n%s\nwas\n%s", i, b, a)
		}
		for first := range whole.Bars {
			part, _ := notate.Of(settled.Excerpt(first, first))
			for staff := range 2 {
				want := clefAt(whole, staff, first)
				if part.Clefs[staff] != want {
					t.Errorf("score %d, bar %d, staff %d: %s, in the whole %s", i, first, staff+1, part.Clefs[staff], want)
				}
				alone, _ := notate.Of(s.Excerpt(first, first))
				if alone.Clefs[staff] != want {
					other++
				}
			}
		}
	}
	if other == 0 {
		t.Error("no bar would have another clef alone: nothing is tested")
	}
}

// clefAt is the clef in force at the beginning of a bar.
func clefAt(p notate.Page, staff, bar int) notate.Clef {
	c := p.Clefs[staff]
	for _, b := range p.Bars[:bar+1] {
		for _, change := range b.Clefs {
			if int(change.Staff) == staff+1 && change.At <= p.Bars[bar].At {
				c = change.Clef
			}
		}
	}
	return c
}
