package technique

import (
	"cmp"
	"slices"

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
	Also:      []string{"one-five-eight", "flowing-arpeggio", "shells", "root-seventh", "two-voices"}, // where a chord has time for one strike
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
// seventh) one after the other, and root and tenth where the chord has two beats.
func recogniseSpreadTenth(page *sight.Page) []Finding {
	out := climbs(page, func(run []sight.Play, after *sight.Play) bool {
		top := run[len(run)-1]
		d, ok := top.Degree(top.Notes[0])
		return ok && (d.Number == 3 || d.Number == 4) && top.Low()-run[0].Low() >= 14 && hasSeventh(run, after)
	})
	ps := page.Left()
	under := func(p sight.Play, i int) bool {
		return i >= 0 && i < len(ps) && ps[i].Bar == p.Bar && ps[i].From == p.From
	}
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		tenth := b.Low()-a.Low() == 15 || b.Low()-a.Low() == 16
		if a.Lone() && b.Lone() && tenth && b.At == a.End && under(a, i+1) && !under(a, i-1) && !under(a, i+2) {
			out = append(out, finding("", a, b))
			i++
		}
	}
	slices.SortFunc(out, func(a, b Finding) int { return cmp.Compare(a.At, b.At) })
	return out
}
