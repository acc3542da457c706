package harmony

import "gradatim/theory"

// tensionDegrees names the notes outside a chord by what they are over its root,
// where the chord has a major third (first row) or a minor one (second row).
var tensionDegrees = [2][12]theory.Degree{
	{dg(1, 0), dg(9, -1), dg(9, 0), dg(9, 1), dg(3, 0), dg(11, 0), dg(11, 1), dg(5, 0), dg(13, -1), dg(13, 0), dg(7, -1), dg(7, 0)},
	{dg(1, 0), dg(9, -1), dg(9, 0), dg(3, -1), dg(3, 0), dg(11, 0), dg(11, 1), dg(5, 0), dg(13, -1), dg(13, 0), dg(7, -1), dg(7, 0)},
}

// degreesByClass lists the chord degrees of each pitch class above the root, in
// ascending order.
var degreesByClass = [12][]theory.Degree{
	{dg(1, 0), dg(2, -2), dg(7, 1), dg(9, -2)},
	{dg(1, 1), dg(2, -1), dg(7, 2), dg(9, -1)},
	{dg(1, 2), dg(2, 0), dg(3, -2), dg(9, 0)},
	{dg(2, 1), dg(3, -1), dg(4, -2), dg(9, 1), dg(11, -2)},
	{dg(2, 2), dg(3, 0), dg(4, -1), dg(9, 2), dg(11, -1)},
	{dg(3, 1), dg(4, 0), dg(5, -2), dg(11, 0)},
	{dg(3, 2), dg(4, 1), dg(5, -1), dg(11, 1)},
	{dg(4, 2), dg(5, 0), dg(6, -2), dg(11, 2), dg(13, -2)},
	{dg(5, 1), dg(6, -1), dg(13, -1)},
	{dg(5, 2), dg(6, 0), dg(7, -2), dg(13, 0)},
	{dg(1, -2), dg(6, 1), dg(7, -1), dg(13, 1)},
	{dg(1, -1), dg(6, 2), dg(7, 0), dg(13, 2)},
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
	want := above(c.Root, n)
	found := theory.Degree{}
	for _, d := range degreesByClass[want] { // without allocating: Fits asks this most
		if !c.Tones.Has(d) {
			continue
		}
		if d.On(c.Root) == n {
			return d, true
		}
		found, in = d, true
	}
	if in {
		return found, true
	}
	row := 1
	if c.Tones.Has(degree3) {
		row = 0
	}
	if want == 6 && c.Tones.Has(theory.Degree{Number: 11}) && !c.Tones.Has(degree3) {
		return degreeB5, false
	}
	return tensionDegrees[row][want], false
}
