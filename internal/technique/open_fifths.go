package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// openFifths strikes root and fifth together, as pipes and fiddles drone.
var openFifths = &Technique{
	ID: "open-fifths", Stage: LeftHand,
	Needs: []string{"root-and-fifth"},
	Left: func(c Cell) []Figure {
		if c.Chord.Diminished() {
			return nil
		}
		return figures(c, openFifthForms, reason.Figure("open-fifths"), nil)
	},
	Recognise: recogniseOpenFifths,
	Also:      []string{"two-voices", "held-root"},
	Drill:     AroundChords,
}

var openFifthForms = forms(
	pattern{Beats: 4, Steps: "1+5 - 1+5 -"},
	pattern{Beats: 3, Steps: "1+5 - -"},
	pattern{Beats: 2, Steps: "1+5 -"},
	pattern{Beats: 1, Steps: "1+5"},
	pattern{Beats: 2, Compound: true, Steps: "1+5 1+5"},
	pattern{Beats: 1, Compound: true, Steps: "1+5"},
)

// recogniseOpenFifths finds root and fifth of the chord struck together, alone,
// twice running or more.
func recogniseOpenFifths(page *sight.Page) []Finding {
	var out []Finding
	var run []sight.Play
	flush := func() {
		if len(run) > 1 {
			out = append(out, finding("", run...))
		}
		run = nil
	}
	for _, p := range page.Left() {
		if len(p.Notes) != 2 || p.Span() != 7 || p.Known() && p.Notes[0].Pitch.Class() != p.Chord.Root.Class() {
			flush()
			continue
		}
		run = append(run, p)
	}
	flush()
	return out
}
