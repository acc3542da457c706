package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// bassAndChord is the low note and the chord above it, in march, waltz and jig.
var bassAndChord = &Technique{
	ID: "bass-and-chord", Stage: LeftHand,
	Needs: []string{"broken-triad", "added-notes"},
	Left: func(c Cell) []Figure {
		return lone(figures(c, bassChordForms, reason.Figure("bass-and-chord"), func(c Cell) []Voicing { return Triads(c, 48, c.High) }))
	},
	Recognise: recogniseBassChord,
	Also:      []string{"broken-triad", "comping", "stride", "repeated-chords", "bass-line"},
	Drill:     OnOneChord,
}

var bassChordForms = forms(
	pattern{Beats: 4, Steps: "R c 5_ c"},
	pattern{Beats: 4, Steps: "R c R c", Cost: 3},
	pattern{Beats: 4, Steps: "R - c -", Cost: 10},
	pattern{Beats: 3, Steps: "R c c"},
	pattern{Beats: 3, Steps: "R c -", Cost: 10},
	pattern{Beats: 2, Steps: "R c"},
	pattern{Beats: 2, Steps: "R -", Cost: 12},
	pattern{Beats: 1, Steps: "R"},
	pattern{Beats: 2, Compound: true, Steps: "R - c 5_ - c"},
	pattern{Beats: 2, Compound: true, Steps: "R - c R - c", Cost: 2},
	pattern{Beats: 2, Compound: true, Steps: "R - c c - -", Cost: 6},
	pattern{Beats: 2, Compound: true, Steps: "R - - c - -", Cost: 10},
	pattern{Beats: 1, Compound: true, Steps: "R - c"},
)

// recogniseBassChord finds a low single note and the triad, with an added note
// perhaps, above it. With a seventh chord a leap away it is stride as well.
func recogniseBassChord(page *sight.Page) []Finding {
	var out []Finding
	for _, x := range page.LowChords() {
		if !x.Low.Lone() {
			continue
		}
		if len(x.Chord.Notes) == 2 && triadic(x.Low.Low(), x.Chord.Low(), x.Chord.High()) {
			continue // a broken triad
		}
		if len(x.Chord.Notes) == 2 && x.Chord.Seventh() && x.Chord.Rich() {
			continue // guide tones
		}
		out = append(out, finding("", x.Low, x.Chord))
	}
	return out
}
