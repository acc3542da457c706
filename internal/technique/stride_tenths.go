package technique

import "gradatim/internal/sight"

// strideTenths puts a tenth, rolled where the hand asks for it, on the strong
// beats.
var strideTenths = &Technique{
	ID: "stride-tenths", Stage: LeftHand, Defines: true,
	Needs:     []string{"stride"},
	Left:      func(c Cell) []Figure { return strideFigures(c, true) },
	Recognise: recogniseTenths,
	Also:      []string{"stride", "bass-and-chord"},
	Drill:     RolledTenths,
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
