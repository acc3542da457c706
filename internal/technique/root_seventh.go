package technique

// rootSeventh walks in shells, one a beat, when the chords move too fast to leap.
var rootSeventh = &Technique{
	ID: "root-seventh", Name: "Root and seventh on each beat", Level: 5, Stage: LeftHand,
	What:  "When the chord changes every beat the hand stays low and plays root and seventh on each.",
	Needs: []string{"shells", "stride"},
	Left: func(c Cell) []Figure {
		if c.Dur() != c.Pulse() || c.Meter.Compound() {
			return nil
		}
		return FromForms(c, []Form{{Beats: 1, Steps: "s"}}, "root and seventh: the chords change with each beat, so the hand does not leap", nil)
	},
	Recognise: recogniseRootSeventh,
	Teach: Teaching{
		How:      "Keep the hand open in one shape and move it along.",
		Practise: []string{"The shells of the fast bars alone, in time."},
		Listen:   "The sevenths make a line.",
		Mistakes: []string{"trying to stride through fast chords"},
	},
	Drill: Drill{AroundChords, "Root and seventh, one chord a beat."},
}
