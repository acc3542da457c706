package technique

import (
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// invertedTriad breaks the nearest inversion of a triad, so that the hand stays
// where it is: from C–E–G to C–F–A and B–D–G (common practice, no source).
var invertedTriad = &Technique{
	ID: "inverted-triad", Stage: LeftHand,
	Needs: []string{"broken-triad"},
	Left: func(c Cell) []Figure {
		if c.Closes || c.Chord.Slash { // a phrase comes to rest on its root
			return nil
		}
		below := c // the root may lie under the register, as it is not struck there
		below.Low -= 12
		var out []Figure
		for _, inv := range inversions {
			for _, f := range slices.Concat(figures(below, inv.forms, inv.say, nil), slower(figures(below, inv.slow, inv.say, nil))) {
				if f.Bottom() >= c.Low && len(f.Tones) > 1 {
					f.Cost += inv.cost
					out = append(out, f)
				}
			}
		}
		return out
	},
	Recognise: recogniseInvertedTriad,
	Also:      []string{"shells", "repeated-chords", "bass-and-chord", "bass-line"},
	Drill:     AroundChords,
}

// inversions are the figures of the broken triad with its third or its fifth at the
// bottom.
var inversions = [...]struct {
	say         reason.Figure
	cost        int
	forms, slow []form
}{
	{"inverted-triad.third", 3, forms(
		pattern{Beats: 4, Steps: "3 5+8 3 5+8"},
		pattern{Beats: 3, Steps: "3 5+8 5+8"},
		pattern{Beats: 2, Steps: "3 5+8"},
		pattern{Beats: 1, Compound: true, Steps: "3 5 8"},
	), forms(
		pattern{Beats: 4, Steps: "3 - 5+8 -"},
		pattern{Beats: 3, Steps: "3 5+8 -"},
		pattern{Beats: 2, Compound: true, Steps: "3 5+8"},
	)},
	{"inverted-triad.fifth", 4, forms(
		pattern{Beats: 4, Steps: "5 8+10 5 8+10"},
		pattern{Beats: 3, Steps: "5 8+10 8+10"},
		pattern{Beats: 2, Steps: "5 8+10"},
		pattern{Beats: 1, Compound: true, Steps: "5 8 10"},
	), forms(
		pattern{Beats: 4, Steps: "5 - 8+10 -"},
		pattern{Beats: 3, Steps: "5 8+10 -"},
		pattern{Beats: 2, Compound: true, Steps: "5 8+10"},
	)},
}

// slower makes figures dearer that take twice as long as the usual ones.
func slower(fs []Figure) []Figure {
	for i := range fs {
		fs[i].Cost += 6
	}
	return fs
}

// recogniseInvertedTriad finds a lone third or fifth at the beginning of a bar or a
// chord, followed by a pair above it, or by two single notes within a beat, that
// completes the triad; and the same again straight after.
func recogniseInvertedTriad(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	again := theory.Dur(-1) // where a figure has just ended
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		begins := a.Off == 0 || a.At == a.From || a.At == again
		if !begins || !a.Lone() || b.At != a.End || !a.Known() || a.Notes[0].Pitch.Class() == a.Chord.Root.Class() {
			continue
		}
		switch {
		case len(b.Notes) == 2 && b.Low() > a.Low() && inverted(a.Low(), b.Low(), b.High()):
			out = append(out, finding("lowest note, then pair", a, b))
			again = b.End
			i++
		case b.Lone() && i+2 < len(ps) && ps[i+2].Lone() && ps[i+2].At == b.End && a.Dur() < a.Pulse && b.Dur() <= a.Dur():
			if c := ps[i+2]; inverted(a.Low(), b.Low(), c.Low()) {
				out = append(out, finding("one after the other", a, b, c))
				again = c.End
				i += 2
			}
		}
	}
	return out
}

// inverted tells whether ascending keys are a close major, minor or diminished
// triad with its third or its fifth at the bottom.
func inverted(a, b, c int) bool {
	switch [2]int{b - a, c - b} {
	case [2]int{3, 5}, [2]int{4, 5}, [2]int{3, 6}, // the third
		[2]int{5, 4}, [2]int{5, 3}, [2]int{6, 3}: // the fifth
		return true
	}
	return false
}
