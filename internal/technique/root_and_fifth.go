package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// rootAndFifth changes root and fifth, for a section that should sound calmer.
var rootAndFifth = &Technique{
	ID: "root-and-fifth", Stage: LeftHand,
	Needs: []string{"plain-triads"},
	Left: func(c Cell) []Figure {
		out := figures(c, rootFifthForms, reason.Figure("root-and-fifth"), nil)
		if c.Manner.Inversions && !c.Closes {
			for _, f := range figures(c, fifthBelowForms, reason.Figure("root-and-fifth.below"), nil) {
				if f.Bottom() >= c.Low {
					f.Cost += 3
					out = append(out, f)
				}
			}
		}
		if c.Closes {
			for _, f := range by(brokenTriad.ID, figures(c, brokenClose, reason.Figure("broken-triad.close"), nil)) {
				f.Cost -= 2
				out = append(out, f)
			}
		}
		return lone(out)
	},
	Recognise: recogniseRootFifth,
	Also:      []string{"held-root", "two-feel"},
	Drill:     AroundChords,
}

var rootFifthForms = forms(
	pattern{Beats: 4, Steps: "1 - 5 -"},
	pattern{Beats: 3, Steps: "1 - 5"},
	pattern{Beats: 2, Steps: "1 5"},
	pattern{Beats: 2, Steps: "1 -", Cost: 5},
	pattern{Beats: 1, Steps: "1"},
	pattern{Beats: 2, Compound: true, Steps: "1 5"},
	pattern{Beats: 1, Compound: true, Steps: "1"},
)

var fifthBelowForms = forms(
	pattern{Beats: 4, Steps: "1 - 5_ -"},
	pattern{Beats: 3, Steps: "1 - 5_"},
	pattern{Beats: 2, Steps: "1 5_"},
	pattern{Beats: 2, Compound: true, Steps: "1 5_"},
)

// recogniseRootFifth finds the chord's root and the fifth above or below it, one after the
// other in whole beats, with nothing else of the hand under that chord in the bar
// but the same again.
func recogniseRootFifth(page *sight.Page) []Finding {
	ps := page.Left()
	root := func(p sight.Play) bool {
		return p.Lone() && (!p.Known() || p.Notes[0].Pitch.Class() == p.Chord.Root.Class())
	}
	with := func(a, b sight.Play) bool { return a.Bar == b.Bar && a.From == b.From }
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !root(a) || !b.Lone() || !with(a, b) || b.At != a.End || b.Low()-a.Low() != 7 && b.Low()-a.Low() != -5 || a.Dur()%a.Pulse != 0 || b.Dur() < b.Pulse {
			continue
		}
		if i > 0 && with(ps[i-1], a) && ps[i-1].Low() != b.Low() || i+2 < len(ps) && with(b, ps[i+2]) && ps[i+2].Low() != a.Low() {
			continue
		}
		out = append(out, finding("", a, b))
		i++
	}
	return out
}
