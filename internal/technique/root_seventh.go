package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// rootSeventh gives a chord that lasts one beat a shell: there is no time to leap.
var rootSeventh = &Technique{
	ID: "root-seventh", Name: "Root and seventh on a beat", Stage: LeftHand,
	What:  "A chord that lasts one beat has root and seventh together, low: there is no time to leap.",
	Needs: []string{"shells", "stride"},
	Left: func(c Cell) []Figure {
		if c.Dur() != c.Pulse() || c.Meter.Compound() {
			return nil
		}
		return figures(c, rootSeventhForms, reason.Figure("root-seventh"), nil)
	},
	Recognise: recogniseRootSeventh,
	Also:      []string{"shells", "two-voices"},
	Teach: Teaching{
		How:      "Root and seventh (sixth or third where the chord has none) struck together; from one quick chord to the next the hand stays open.",
		Practise: []string{"The bars with quick chords alone, in time."},
		Listen:   "The sevenths make a line.",
		Mistakes: []string{"trying to stride through fast chords"},
	},
	Drill: AroundChords,
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
