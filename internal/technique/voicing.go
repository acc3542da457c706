package technique

import (
	"slices"

	"gradatim/theory"
)

// Voicing is a chord in definite octaves, lowest note first.
type Voicing struct {
	Pitches []theory.Pitch
	Cost    int
}

// Stack places degrees one above the other, each in the nearest place above the
// one before, beginning at the lowest possible place at or above the given key.
func Stack(root theory.Name, degrees []theory.Degree, from int) []theory.Pitch {
	out := make([]theory.Pitch, 0, len(degrees))
	for _, d := range degrees {
		p := d.On(root).Above(from)
		out = append(out, p)
		from = p.MIDI() + 1
	}
	return out
}

// Placements returns every placing of the stack whose notes all lie within
// [low, high] and whose span is at most the given number of semitones.
func Placements(root theory.Name, degrees []theory.Degree, low, high, span, cost int) []Voicing {
	var out []Voicing
	for from := low; ; {
		ps := Stack(root, degrees, from)
		if len(ps) == 0 || ps[len(ps)-1].MIDI() > high {
			return out
		}
		if ps[len(ps)-1].MIDI()-ps[0].MIDI() <= span {
			out = append(out, Voicing{ps, cost})
		}
		from = ps[0].MIDI() + 1
	}
}

// Rotations returns the inversions of a close chord: each note in turn at the
// bottom.
func Rotations(degrees []theory.Degree) [][]theory.Degree {
	var out [][]theory.Degree
	for i := range degrees {
		out = append(out, append(slices.Clone(degrees[i:]), degrees[:i]...))
	}
	return out
}

// Triads returns the close chord over a bass in all inversions between low and high: the
// triad, with the added note of the cell if it has one, or the third, fifth and seventh of
// a chord that has a seventh.
func Triads(c Cell, low, high int) []Voicing {
	third, ok := c.Chord.Third()
	if seventh, has := c.Chord.Seventh(); ok && has && c.Added == (theory.Degree{}) {
		var out []Voicing
		for _, ds := range [][]theory.Degree{{third, fifthOf(c.Chord), seventh}, {third, seventh}} {
			for i, rot := range Rotations(ds) {
				out = append(out, Placements(c.Chord.Root, rot, low, high, c.Caps.Span[1], i+3*(3-len(ds)))...)
			}
		}
		return append(out, c.unseventh(low, high)...)
	}
	ds := []theory.Degree{{Number: 1}}
	if ok {
		ds = append(ds, third)
	}
	ds = append(ds, fifthOf(c.Chord))
	if c.Added != (theory.Degree{}) {
		ds = withAdded(c, ds)
	}
	var out []Voicing
	for i, rot := range Rotations(ds) {
		out = append(out, Placements(c.Chord.Root, rot, low, high, c.Caps.Span[1], i)...)
	}
	return append(out, c.open(low, high)...)
}

// open lists root and fifth without the third, for the bar in which the tune rubs against
// that: the pattern goes on. Where nothing rubs they are too dear.
func (c *Cell) open(low, high int) []Voicing {
	var out []Voicing
	for i, rot := range Rotations([]theory.Degree{{Number: 1}, fifthOf(c.Chord)}) {
		out = append(out, Placements(c.Chord.Root, rot, low, high, c.Caps.Span[1], openChord+i)...)
	}
	return out
}

// unseventh lists the triad of a seventh chord whose seventh the tune rubs against, so that
// the pattern goes on.
func (c *Cell) unseventh(low, high int) []Voicing {
	third, ok := c.Chord.Third()
	seventh, has := c.Chord.Seventh()
	if !ok || !has {
		return nil
	}
	class := seventh.On(c.Chord.Root).Class()
	if !slices.ContainsFunc(c.Melody, func(m MelodyNote) bool {
		d := (m.Pitch.Class() - class + 12) % 12
		return d == 1 || d == 11
	}) {
		return nil
	}
	var out []Voicing
	for i, rot := range Rotations([]theory.Degree{{Number: 1}, third, fifthOf(c.Chord)}) {
		out = append(out, Placements(c.Chord.Root, rot, low, high, c.Caps.Span[1], openChord+i)...)
	}
	return out
}

// openChord is the taste for a chord without its third, or its seventh.
const openChord = 14

// Displaced tells whether the added note takes the place of the third: a 4th beside a major
// third would rub.
func (c *Cell) Displaced() bool {
	return c.Added == add4 && c.Chord.Tones.Has(deg3)
}

// withAdded puts the added note into the close chord. A hand with three fingers
// to spend gives up the root, which the bass has; a fifth beside the added
// fourth or second may stay.
func withAdded(c Cell, ds []theory.Degree) []theory.Degree {
	if c.Displaced() {
		ds = slices.DeleteFunc(ds, func(d theory.Degree) bool { return d.Number == 3 })
	}
	ds = append(ds, c.Added)
	slices.SortFunc(ds, func(a, b theory.Degree) int { return a.Class() - b.Class() })
	if limit := c.Caps.AtOnce[1]; limit > 0 && len(ds) > limit {
		ds = slices.DeleteFunc(ds, func(d theory.Degree) bool { return d.Number == 1 })
	}
	return ds
}
