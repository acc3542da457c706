package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// shuffle rocks fifth and sixth over the root.
var shuffle = &Technique{
	ID: "shuffle", Stage: LeftHand,
	Needs: []string{"shells"},
	Left: func(c Cell) []Figure {
		if !c.Swing || c.Chord.MinorThird() {
			return nil
		}
		return figures(c, shuffleForms, reason.Figure("shuffle"), nil)
	},
	Recognise: recogniseShuffle,
	Also:      []string{"two-voices", "open-fifths"},
	Drill:     OnOneChord,
}

var shuffleForms = forms(
	pattern{Beats: 4, Steps: "1+5 1+6 1+5 1+6", MaxTempo: 170},
	pattern{Beats: 2, Steps: "1+5 1+6", MaxTempo: 170},
	pattern{Beats: 1, Steps: "1+5", MaxTempo: 170},
)

// recogniseShuffle finds root with fifth, then with sixth.
func recogniseShuffle(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if len(a.Notes) == 2 && len(b.Notes) == 2 && a.Low() == b.Low() && a.Span() == 7 && b.Span() == 9 && b.At-a.At <= a.Pulse {
			out = append(out, finding("", a, b))
		}
	}
	return out
}
