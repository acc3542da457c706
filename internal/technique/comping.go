package technique

import "gradatim/reason"

// comping puts full left-hand chords without their root on and off the beat.
var comping = &Technique{
	ID: "comping", Name: "Rootless chords in comping cells", Level: 3, Stage: LeftHand,
	What:  "Chords of three or four notes without the root, near middle C, on 1 and the “and” of 2 (or another short cell).",
	Needs: []string{"extensions", "shells"},
	Left: func(c Cell) []Figure {
		if c.Opens { // the ear wants a root first
			return by(rootThenGuides.ID, FromForms(c, rootGuideForms, reason.Figure("root-then-guides.opens"), func(c Cell) []Voicing { return guideVoicings(c, 50, c.High) }))
		}
		var out []Figure
		for k, forms := range compingForms {
			for _, f := range FromForms(c, forms, compingSay[k], func(c Cell) []Voicing { return rootless(c, 48, c.High) }) {
				f.Cost += (k + int(c.BarAt/max(1, c.Meter.Bar()))) % len(compingForms) // the cells take turns
				out = append(out, f)
			}
		}
		return out
	},
	Recognise: recogniseRootless,
	Teach: Teaching{
		How:      "3–5–7–9 or 7–9–3–5, or three notes of them, 3 and 7 among the three, top note between C4 and C5; short, light, and leave room. A phrase begins with the root in the bass.",
		Practise: []string{"ii–V–I in both shapes, slowly, no rhythm.", "One shape in the cell: 1 and the “and” of 2."},
		Listen:   "The bass is in your head: sing the root.",
		Mistakes: []string{"all off-beats equally strong", "never leaving a bar empty"},
	},
	Drill: Drill{TwoFiveOne, "ii–V–I, rootless, both shapes."},
}
