package technique

import "gradatim/internal/sight"

// strideTenths puts a tenth, rolled where the hand asks for it, on the strong
// beats.
var strideTenths = &Technique{
	ID: "stride-tenths", Name: "Stride with rolled tenths", Stage: LeftHand, Defines: true,
	What:      "The low note has its tenth, played together by a large hand and rolled upwards by any other.",
	Needs:     []string{"stride"},
	Left:      func(c Cell) []Figure { return strideFigures(c, true) },
	Recognise: recogniseTenths,
	Also:      []string{"stride", "bass-and-chord"},
	Teach: Teaching{
		How:      "Roll from the low note up to the tenth, quickly, the pedal catching the low note; the bottom is on the beat.",
		Practise: []string{"The tenths of the tune's chords, one at a time, rolled.", "Then tenth and chord in slow time."},
		Listen:   "The roll is one gesture, not two notes.",
		Mistakes: []string{"reaching for a tenth that the hand does not have"},
		Caution:  "Never force a tenth: roll it, or play root, then tenth. No stretching exercises. Stop at the first pain, and ask a teacher or a clinician.",
	},
	Drill: RolledTenths,
}

// recogniseTenths finds a tenth, alone or with a note between, of the left hand.
func recogniseTenths(page *sight.Page) []Finding {
	var out []Finding
	for _, st := range page.Left() {
		if k := st.Span(); len(st.Notes) == 2 && (k == 15 || k == 16) {
			out = append(out, Finding{At: st.At, End: st.End, Notes: st.IDs()})
		}
	}
	return out
}
