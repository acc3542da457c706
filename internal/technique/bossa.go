package technique

// bossa is the straight-eighth bass of root and fifth with the chord against it.
var bossa = &Technique{
	ID: "bossa", Name: "Bossa bass", Level: 3, Stage: LeftHand,
	What:  "Dotted quarter and eighth, root and fifth, in straight eighths.",
	Needs: []string{"shells"},
	Left: func(c Cell) []Figure {
		if c.Swing {
			return nil
		}
		return FromForms(c, bossaForms, "root and fifth, dotted quarter and eighth", nil)
	},
	Recognise: recogniseBossa,
	Teach: Teaching{
		How:      "Root long, fifth short and a little heavier on 2-and; straight eighths.",
		Practise: []string{"Bass alone against a steady foot.", "Add the tune in eighths."},
		Listen:   "Nothing swings; the bass breathes in halves.",
		Mistakes: []string{"swinging the eighths"},
	},
	Drill: Drill{OnOneChord, "The bass on one chord, straight eighths."},
}

var bossaForms = []Form{
	{Beats: 4, Steps: "R - - 5 5 - - R", MaxTempo: 160},
	{Beats: 2, Steps: "R - - 5", MaxTempo: 160},
	{Beats: 1, Steps: "R", MaxTempo: 160},
}
