package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// openFifths strikes root and fifth together, as pipes and fiddles drone; where there is time
// the third answers between them, so that a chord is heard and not a drone alone; a phrase ends
// without it.
var openFifths = &Technique{
	ID: "open-fifths", Stage: LeftHand,
	Needs: []string{"root-and-fifth"},
	Left: func(c Cell) []Figure {
		if c.Chord.Diminished() {
			return nil
		}
		out := figures(c, openFifthForms, reason.Figure("open-fifths"), nil)
		if _, ok := c.Chord.Third(); !ok || c.Chord.Slash || c.Closes || c.Last {
			return out
		}
		for i := range out {
			out[i].Cost += 2
		}
		return append(figures(c, answeredForms, reason.Figure("open-fifths.third"), nil), out...)
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

var answeredForms = forms(
	pattern{Beats: 4, Steps: "1+5 - 3 -"},
	pattern{Beats: 3, Steps: "1+5 - 3"},
	pattern{Beats: 2, Steps: "1+5 3"},
	pattern{Beats: 2, Compound: true, Steps: "1+5 3"},
)

// recogniseOpenFifths finds root and fifth of the chord struck together, alone,
// twice running or more; a lone note between two of them, within the fifth, may answer.
func recogniseOpenFifths(page *sight.Page) []Finding {
	var out []Finding
	var run []sight.Play
	flush := func() {
		if len(run) > 1 {
			out = append(out, finding("", run...))
		}
		run = nil
	}
	ps := page.Left()
	for i, p := range ps {
		if i > 0 && len(run) > 0 && p.Lone() && p.Bar == ps[i-1].Bar && ps[i-1].Low() < p.Low() && p.Low() < ps[i-1].High() {
			continue
		}
		if len(p.Notes) != 2 || p.Span() != 7 || p.Known() && p.Notes[0].Pitch.Class() != p.Chord.Root.Class() {
			flush()
			continue
		}
		run = append(run, p)
	}
	flush()
	return out
}
