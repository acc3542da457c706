package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// compoundSpread rolls up to the tenth and back in 6/8, 9/8 and 12/8.
var compoundSpread = &Technique{
	ID: "compound-spread", Stage: LeftHand,
	Needs: []string{"broken-triad", "added-notes"},
	Left: func(c Cell) []Figure {
		if !c.Meter.Compound() {
			return nil
		}
		out := figures(c, compoundSpreadForms, reason.Figure("compound-spread"), nil)
		for i := range out {
			out[i].Pedal = true
		}
		return out
	},
	Recognise: recogniseCompoundSpread,
	Also:      []string{"flowing-arpeggio"},
	Drill:     OnOneChord,
}

var compoundSpreadForms = forms(
	pattern{Beats: 2, Compound: true, Steps: "R 5 x y x 5", MaxTempo: 66},
	pattern{Beats: 2, Compound: true, Steps: "R 5 x y - -", MaxTempo: 90},
	pattern{Beats: 2, Compound: true, Steps: "R - 5 t - -", MaxTempo: 120, Cost: 1},
	pattern{Beats: 1, Compound: true, Steps: "R 5 8", MaxTempo: 90},
)

// recogniseCompoundSpread finds the wide chord rolling through compound time.
func recogniseCompoundSpread(page *sight.Page) []Finding {
	return climbs(page, func(run []sight.Play, after *sight.Play) bool { return run[0].Compound && !hasSeventh(run, after) })
}
