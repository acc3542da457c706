package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// brokenTriad is the first accompaniment that most pupils meet.
var brokenTriad = &Technique{
	ID: "broken-triad", Stage: LeftHand, Defines: true,
	Needs: []string{"plain-triads"},
	Left: func(c Cell) []Figure {
		say := reason.Figure("broken-triad")
		out := figures(c, brokenForms, say, nil)
		out = append(out, slower(figures(c, brokenSlow, reason.Figure("broken-triad.slow"), nil))...)
		if c.Closes {
			for _, f := range figures(c, brokenClose, reason.Figure("broken-triad.close"), nil) {
				f.Cost -= 2
				out = append(out, f)
			}
		}
		if c.Manner.Inversions {
			out = append(out, by(invertedTriad.ID, invertedTriad.Left(c))...)
		}
		return lone(out)
	},
	Recognise: recogniseBrokenTriad,
	Also:      []string{"held-root", "repeated-chords", "bass-and-chord", "bass-line"}, // where a chord has time for one note
	Drill:     OnOneChord,
}

var (
	brokenForms = forms(
		pattern{Beats: 4, Steps: "1 3+5 1 3+5"},
		pattern{Beats: 3, Steps: "1 3+5 3+5"},
		pattern{Beats: 2, Steps: "1 3+5"},
		pattern{Beats: 1, Steps: "1"},
		pattern{Beats: 1, Compound: true, Steps: "1 3 5"},
	)
	brokenSlow = forms(
		pattern{Beats: 4, Steps: "1 - 3+5 -"},
		pattern{Beats: 3, Steps: "1 3+5 -"},
		pattern{Beats: 2, Steps: "1 -"},
		pattern{Beats: 1, Steps: "1"},
		pattern{Beats: 2, Compound: true, Steps: "1 3+5"},
		pattern{Beats: 1, Compound: true, Steps: "1"},
	)
	brokenClose = forms(
		pattern{Beats: 4, Steps: "1 - 3+5 -"},
		pattern{Beats: 3, Steps: "1 3+5 -"},
		pattern{Beats: 2, Steps: "1 3+5"},
		pattern{Beats: 1, Steps: "1"},
		pattern{Beats: 2, Compound: true, Steps: "1 3 5 1 - -"},
		pattern{Beats: 1, Compound: true, Steps: "1 3 5"},
	)
)

// recogniseBrokenTriad finds a lone root, or lowest note where the chord is not known,
// followed by a pair above it that completes a triad, or the three notes one after
// the other within a beat.
func recogniseBrokenTriad(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !a.Lone() || b.At != a.End || a.From != b.From || a.Known() && a.Notes[0].Pitch.Class() != a.Chord.Root.Class() {
			continue
		}
		switch {
		case len(b.Notes) == 2 && b.Low() > a.Low() && triadic(a.Low(), b.Low(), b.High()):
			out = append(out, finding("root, then pair", a, b))
			i++
		case b.Lone() && i+2 < len(ps) && ps[i+2].Lone() && ps[i+2].At == b.End && ps[i+2].From == a.From && a.Dur() < a.Pulse && b.Dur() <= a.Dur():
			if c := ps[i+2]; triadic(a.Low(), b.Low(), c.Low()) {
				out = append(out, finding("one after the other", a, b, c))
				i += 2
			}
		}
	}
	return out
}

// triadic tells whether ascending keys are a close triad in root position; a
// suspended fourth or second may stand for the third.
func triadic(a, b, c int) bool {
	third, fifth := b-a, c-a
	return third >= 2 && third <= 5 && fifth >= 6 && fifth <= 8
}
