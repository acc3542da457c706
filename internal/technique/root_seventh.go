package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// rootSeventh gives a chord that lasts one beat a shell: there is no time to leap.
var rootSeventh = &Technique{
	ID: "root-seventh", Stage: LeftHand, Shell: true,
	Needs: []string{"shells", "stride"},
	Left: func(c Cell) []Figure {
		if c.Dur() != c.Pulse() || c.Meter.Compound() {
			return nil
		}
		return figures(c, rootSeventhForms, reason.Figure("root-seventh"), nil)
	},
	Recognise: recogniseRootSeventh,
	Also:      []string{"shells", "two-voices"},
	Drill:     AroundChords,
}

// recogniseRootSeventh finds shells on chords that last a beat.
func recogniseRootSeventh(page *sight.Page) []Finding {
	var out []Finding
	for _, p := range page.Left() {
		if isShell(p) && passingBy(p) && !p.Compound {
			out = append(out, finding(p.Chord.Pretty(), p))
		}
	}
	return out
}

var rootSeventhForms = forms(pattern{Beats: 1, Steps: "s"})
