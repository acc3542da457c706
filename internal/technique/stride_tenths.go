package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

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

// RolledTenth is the tenth over the root of a cell's chord, rolled upwards and held.
func RolledTenth(c Cell) []Figure {
	third, ok := c.Chord.Third()
	if !ok || third.Number != 3 || c.Chord.Slash {
		return nil
	}
	var out []Figure
	for _, b := range c.struckBasses() {
		if b.MIDI() > 50 {
			continue
		}
		f := Figure{Say: reason.Figure("stride.rolled"), Tones: c.struck(0, b, tenthOf(c.Chord, b))}
		for i := range f.Tones {
			f.Tones[i].Marks |= score.Rolled
		}
		out = append(out, f)
	}
	return out
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
