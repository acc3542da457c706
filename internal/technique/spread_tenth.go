package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// spreadTenth opens root, seventh and tenth one after the other in a slow tempo.
var spreadTenth = &Technique{
	ID: "spread-tenth", Stage: LeftHand,
	Needs: []string{"ballad-spread", "shells"},
	Left: func(c Cell) []Figure {
		if c.Swing {
			return nil
		}
		out := figures(c, spreadTenthForms, reason.Figure("spread-tenth"), nil)
		for i := range out {
			out[i].Pedal = true
		}
		return out
	},
	Recognise: recogniseSpreadTenth,
	Drill:     AroundChords,
}

var spreadTenthForms = forms(
	pattern{Beats: 4, Steps: "R 7 10 -", MaxTempo: 92},
	pattern{Beats: 4, Steps: "R 5 10 7", MaxTempo: 92, Cost: 1},
	pattern{Beats: 3, Steps: "R 7 10", MaxTempo: 92},
	pattern{Beats: 2, Steps: "R 10", MaxTempo: 92},
	pattern{Beats: 1, Steps: "s", MaxTempo: 92},
	pattern{Beats: 2, Compound: true, Steps: "R 7 10 - 7 -", MaxTempo: 72},
	pattern{Beats: 1, Compound: true, Steps: "R 7 10", MaxTempo: 72},
)

// recogniseSpreadTenth finds root, seventh and tenth (or root, fifth, tenth and
// seventh) one after the other.
func recogniseSpreadTenth(page *sight.Page) []Finding {
	return climbs(page, func(run []sight.Play, after *sight.Play) bool {
		top := run[len(run)-1]
		d, ok := top.Degree(top.Notes[0])
		return ok && (d.Number == 3 || d.Number == 4) && top.Low()-run[0].Low() >= 14 && hasSeventh(run, after)
	})
}
