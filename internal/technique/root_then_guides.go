package technique

import "gradatim/reason"

// rootThenGuides is a low root, then third and seventh off the beat.
var rootThenGuides = &Technique{
	ID: "root-then-guides", Name: "Root, then guide tones", Level: 3, Stage: LeftHand,
	What:  "The root on the beat, then third and seventh together near middle C.",
	Needs: []string{"shells"},
	Left: func(c Cell) []Figure {
		forms := rootGuideForms
		if !c.Swing {
			forms = rootGuideStraight
		}
		out := FromForms(c, forms, reason.Figure("root-then-guides"), func(c Cell) []Voicing { return guideVoicings(c, 50, c.High) })
		if c.Dur() == c.Pulse() && !c.Meter.Compound() { // no time for more than a shell
			return by(shells.ID, out)
		}
		return out
	},
	Recognise: recogniseRootGuides,
	Teach: Teaching{
		How:      "Drop the root, then place third and seventh on the “and” of two.",
		Practise: []string{"Roots alone in time, then guide tones alone, then both."},
		Listen:   "The guide tones answer the root.",
		Mistakes: []string{"hurrying the off-beat"},
	},
	Drill: Drill{AroundChords, "Root, then guide tones, through the chords of the tune."},
}
