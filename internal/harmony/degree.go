package harmony

import "gradatim/theory"

// tensionDegrees names the notes outside a chord by what they are over its root,
// where the chord has a major third (first row) or a minor one (second row).
var tensionDegrees = [2][12]theory.Degree{
	{dg(1, 0), dg(9, -1), dg(9, 0), dg(9, 1), dg(3, 0), dg(11, 0), dg(11, 1), dg(5, 0), dg(13, -1), dg(13, 0), dg(7, -1), dg(7, 0)},
	{dg(1, 0), dg(9, -1), dg(9, 0), dg(3, -1), dg(3, 0), dg(11, 0), dg(11, 1), dg(5, 0), dg(13, -1), dg(13, 0), dg(7, -1), dg(7, 0)},
}

// DegreeOver names a note over a chord: the chord's own degree where it belongs
// to it (of the tones, spelling decides between two of one sound), otherwise the
// tension or foreign degree it is: over D7, F is ♯9, E♭ is ♭9, C♯ is 7. Sound
// counts, not spelling. in tells whether the root chord's tones hold it; the
// notes of a slash bass or an upper chord are named over the root too.
func DegreeOver(c theory.Chord, n theory.Name) (d theory.Degree, in bool) {
	if c.Silent() {
		return theory.Degree{}, false
	}
	if d, ok := c.Degree(n); ok {
		return d, true
	}
	row := 1
	if c.Tones.Has(degree3) {
		row = 0
	}
	semis := above(c.Root, n)
	if semis == 6 && c.Tones.Has(theory.Degree{Number: 11}) && !c.Tones.Has(degree3) {
		return degreeB5, false
	}
	return tensionDegrees[row][semis], false
}
