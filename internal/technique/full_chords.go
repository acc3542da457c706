package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// fullChords fill the right hand with chord tones under the tune where a chord
// begins.
var fullChords = &Technique{
	ID: "full-chords", Stage: RightHand,
	Needs: []string{"guide-tones"},
	Right: func(c Cell) []Figure {
		third, ok3 := c.Chord.Third()
		sev, ok7 := c.Chord.Seventh()
		if !ok3 || !ok7 {
			return nil
		}
		var out []Figure
		for n, m := range anchors(c) {
			for k, x := range append(colourTones(c), fifthOf(c.Chord)) {
				if f, ok := under(c, m, third, sev, x); ok {
					f.Cost, f.Say = k+n, reason.Figure("full-chords")
					out = append(out, f)
				}
			}
			if f, ok := under(c, m, third, sev); ok {
				f.Cost, f.Say = 3+n, reason.Figure("full-chords.guides")
				out = append(out, f)
			}
		}
		return out
	},
	Recognise: recogniseFull,
	Also:      []string{"clusters", "guide-tones", "upper-structure", "drop-two"},
	Drill:     FullCadence,
}

// recogniseFull finds right-hand chords of four notes and more that hold the
// printed chord's third and seventh.
func recogniseFull(page *sight.Page) []Finding {
	var out []Finding
	for _, c := range page.Under() {
		if len(c.Keys) >= 4 && c.Third && c.Seventh {
			out = append(out, standing(c))
		}
	}
	return out
}
