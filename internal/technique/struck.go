package technique

import (
	"slices"

	"gradatim/internal/hand"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Struck is a chord struck whole, to be looked at and named: its bass in the left hand,
// with one degree at most, the others in the right. What the tune has is not struck
// again. Common practice, no source.
type Struck struct {
	Degrees func(theory.Chord) []theory.Degree // over the bass
	Most    int                                // notes that the right hand likes to take
}

// Promised lists the degrees that a chord symbol promises over its bass: third,
// seventh or sixth, and every altered or added degree. A plain fifth promises
// nothing, nor does the ninth that a plain eleventh or thirteenth stands on.
func Promised(c theory.Chord) []theory.Degree {
	_, seventh := c.Seventh()
	has := func(n int8) bool { return c.Tones.Has(theory.Degree{Number: n}) }
	var out []theory.Degree
	for d := range c.Tones.All() {
		switch {
		case d.Number == 1, d == theory.Degree{Number: 5}:
		case d == theory.Degree{Number: 9} && seventh && (has(11) || has(13)):
		case d == theory.Degree{Number: 11} && seventh && has(13) && has(3):
		default:
			out = append(out, d)
		}
	}
	return overBass(c, out)
}

// PromisedAndFifth is what a symbol promises, and the fifth where that is less than
// three notes.
func PromisedAndFifth(c theory.Chord) []theory.Degree {
	out := Promised(c)
	if d, ok := c.Fifth(); ok && len(out) < 3 {
		out = overBass(c, append(out, d))
	}
	return out
}

// GuideTones are third and seventh alone.
func GuideTones(c theory.Chord) []theory.Degree {
	var out []theory.Degree
	if d, ok := c.Third(); ok {
		out = append(out, d)
	}
	if d, ok := c.Seventh(); ok {
		out = append(out, d)
	}
	return overBass(c, out)
}

// FourNotes are what a symbol promises, filled up to four notes.
func FourNotes(c theory.Chord) []theory.Degree { return FilledUp(c, Promised(c), 4) }

// FilledUp adds to degrees of a chord its fifth, its root and what else its symbol
// promises, until there are so many.
func FilledUp(c theory.Chord, ds []theory.Degree, n int) []theory.Degree {
	out := slices.Clone(ds)
	var fill []theory.Degree
	if d, ok := c.Fifth(); ok {
		fill = []theory.Degree{d}
	}
	for _, d := range append(append(fill, deg1), Promised(c)...) {
		if len(out) < n {
			out = overBass(c, append(out, d))
		}
	}
	return out
}

// overBass sorts degrees upwards from the root. Over a slash bass the root is one of
// them, and what the bass plays is not.
func overBass(c theory.Chord, ds []theory.Degree) []theory.Degree {
	if c.Slash {
		ds = append(ds, deg1)
	}
	ds = slices.DeleteFunc(ds, func(d theory.Degree) bool { return c.Slash && d.On(c.Root).Class() == c.Bass.Class() })
	slices.SortStableFunc(ds, func(a, b theory.Degree) int { return a.Class() - b.Class() })
	return slices.CompactFunc(ds, func(a, b theory.Degree) bool { return a.Class() == b.Class() })
}

// AddedTo is the added note of a chord without a seventh; the zero Degree: it has none.
func AddedTo(c theory.Chord) theory.Degree {
	if _, seventh := c.Seventh(); seventh {
		return theory.Degree{}
	}
	for _, d := range []theory.Degree{{Number: 9}, {Number: 2}, {Number: 4}} {
		if _, third := c.Third(); third && c.Tones.Has(d) && (c.Tones.Has(theory.Degree{Number: 3}) || c.MinorThird()) {
			return d
		}
	}
	return theory.Degree{}
}

// HeldBass is the bass of a chord, held as long as the cell.
func HeldBass(c Cell) []Figure {
	var out []Figure
	for _, b := range c.struckBasses() {
		out = append(out, Figure{Cost: highBass(b), Tones: c.struck(0, b)})
	}
	return out
}

// CloseChord is the chord of a cell held in the left hand in close position: the root
// at the bottom, or another of its notes; over a slash bass that; or the bass alone.
func CloseChord(c Cell) []Figure {
	full := []theory.Degree{deg1}
	for _, of := range []func() (theory.Degree, bool){c.Chord.Third, c.Chord.Fifth, c.Chord.Seventh} {
		if d, ok := of(); ok {
			full = append(full, d)
		}
	}
	var out []Figure
	hold := func(cost int, ps ...theory.Pitch) {
		f := Figure{Cost: cost + abs(ps[0].MIDI()-closeMiddle)/3, Say: reason.Fact("chord-held"), Tones: c.struck(score.Chord, ps...)}
		out = append(out, f)
	}
	for _, b := range c.struckBasses() {
		hold(bassAlone, b)
		if c.Chord.Slash {
			hold(0, append([]theory.Pitch{b}, Stack(c.Chord.Root, overBass(c.Chord, full[1:]), b.MIDI()+1)...)...)
		}
	}
	for n := len(full); n > 2 && !c.Chord.Slash; n-- { // without the seventh at last
		for i, ds := range Rotations(full[:n]) {
			for _, v := range Placements(c.Chord.Root, ds, 45, 64, 14, 0) {
				hold(turnedOver*i+leftOut*(len(full)-n), v.Pitches...)
			}
		}
	}
	if d, ok := c.Chord.Fifth(); ok && !c.Chord.Slash {
		for _, v := range Placements(c.Chord.Root, []theory.Degree{deg1, d}, 41, 64, 14, 0) {
			hold(leftOut*(len(full)-1), v.Pitches...)
		}
	}
	return out
}

// highBass is what it costs that a bass lies high.
func highBass(p theory.Pitch) int { return max(0, p.MIDI()-growls) / 2 }

// Costs of striking a chord, beside what the hands move.
const (
	beyond     = 10 // for each note that the right hand has over its share
	stretched  = 8  // a hand not at ease
	otherPlace = 20 // another degree at the bottom than was asked for
	bassAlone  = 15 // a bass where a chord could be
	turnedOver = 4  // an inversion of a close chord, and twice that the next
	leftOut    = 5  // a note of a close chord that it lacks
	guideOnTop = 6  // third or seventh where the tune would be, in full chords
)

// closeMiddle is D3: about where a close chord of the left hand begins.
const closeMiddle = 50

// costGiven is what it costs to give a degree to the left hand, by its number: the
// seventh makes a shell, the others sound less plain. A tension stays in the right.
var costGiven = map[int8]int{7: 3, 6: 3, 3: 4, 5: 4, 1: 4}

// costSecond is what a half step and a whole step within the right hand cost.
var costSecond = [...]int{1: 2, 2: 1, 3: 0}

// Left is the bass, alone or with one degree above it.
func (s Struck) Left(c Cell) []Figure {
	out := HeldBass(c)
	for _, g := range s.given(c) {
		cost := costGiven[g.degree.Number] + highBass(g.bass)
		if !c.Hand.Comfortable(score.Left, []int{g.bass.MIDI(), g.pitch.MIDI()}) {
			cost += stretched
		}
		out = append(out, Figure{Cost: cost, Tones: c.struck(0, g.bass, g.pitch)})
	}
	return out
}

// Right is what the left hand has left, in close position or with one voice dropped.
func (s Struck) Right(c Cell) []Figure {
	ds := s.over(c)
	out := s.shapes(c, ds, 0)
	done := map[int]bool{}
	for _, g := range s.given(c) {
		if k := g.pitch.MIDI(); !done[k] {
			done[k] = true
			rest := slices.DeleteFunc(slices.Clone(ds), func(d theory.Degree) bool { return d == g.degree })
			out = append(out, s.shapes(c, rest, k)...)
		}
	}
	return out
}

// Turned is Right with the n-th of its degrees at the bottom, where that can be.
func (s Struck) Turned(n int) func(Cell) []Figure {
	return func(c Cell) []Figure {
		ds := s.over(c)
		out := s.shapes(c, ds, 0)
		for i := range out {
			if d, _ := c.Chord.Degree(out[i].Tones[0].Pitch.Name); d != ds[n%len(ds)] {
				out[i].Cost += otherPlace
			}
		}
		return out
	}
}

// over lists what is struck over the bass: the degrees that the tune does not have.
func (s Struck) over(c Cell) []theory.Degree {
	ds := overBass(c.Chord, s.Degrees(c.Chord))
	return slices.DeleteFunc(ds, func(d theory.Degree) bool { return c.sings(d) })
}

// given is a degree that the left hand takes above the bass.
type given struct {
	degree      theory.Degree
	bass, pitch theory.Pitch
}

// given lists what the left hand may take. Below C3 a third in it growls.
func (s Struck) given(c Cell) []given {
	var out []given
	for _, b := range c.struckBasses() {
		for _, d := range s.over(c) {
			if _, ok := costGiven[d.Number]; !ok {
				continue
			}
			p := d.On(c.Chord.Root).Above(b.MIDI() + 1)
			for ; p.MIDI()-b.MIDI() <= 16; p.Octave++ {
				if (p.MIDI()-b.MIDI() > 4 || b.MIDI() >= growls) && c.Hand.Reaches(score.Left, []int{b.MIDI(), p.MIDI()}) {
					out = append(out, given{d, b, p})
				}
			}
		}
	}
	return out
}

// shapes lists the placings of degrees in the right hand; drop is the key that they
// leave to the left hand.
func (s Struck) shapes(c Cell, ds []theory.Degree, drop int) []Figure {
	if len(ds) == 0 {
		if len(c.Melody) > 0 && drop == 0 { // the tune is all there is
			return []Figure{{}}
		}
		return nil
	}
	top := hand.HighestKey
	for _, m := range c.Melody {
		top = min(top, m.Pitch.MIDI()-2)
	}
	var out []Figure
	for _, order := range stacked(ds) {
		for _, v := range Placements(c.Chord.Root, order, 55, min(81, top), 14, 0) {
			f := Figure{Drop: drop, Cost: beyond * max(0, len(ds)+len(c.Melody)-s.Most)}
			keys := make([]int, len(v.Pitches))
			for i, p := range v.Pitches {
				keys[i] = p.MIDI()
				if i > 0 {
					f.Cost += costSecond[min(keys[i]-keys[i-1], 3)]
				}
			}
			if keys[0] <= drop {
				continue
			}
			if !c.Hand.Comfortable(score.Right, keys) {
				f.Cost += stretched
			}
			if len(c.Melody) == 0 {
				f.Cost += abs(keys[0]-62) / 3
			}
			if d, _ := c.Chord.Degree(v.Pitches[len(keys)-1].Name); s.Most > 3 && (d.Number == 3 || d.Number == 7) {
				f.Cost += guideOnTop
			}
			f.Tones = c.struck(score.Chord, v.Pitches...)
			out = append(out, f)
		}
	}
	return out
}

// stacked lists the ways to stack degrees: all of three notes, the close ones and those
// with one voice dropped of more.
func stacked(ds []theory.Degree) [][]theory.Degree {
	out := Rotations(ds)
	if len(ds) < 3 {
		return out
	}
	for _, r := range Rotations(ds) {
		k := len(r) - 2 // the second from the top goes to the bottom
		out = append(out, append([]theory.Degree{r[k]}, slices.Delete(slices.Clone(r), k, k+1)...))
	}
	return out
}

// struckBasses lists where the bass of a chord that is struck may lie.
func (c Cell) struckBasses() []theory.Pitch {
	p := c.Chord.Lowest().Above(max(c.Low, 40))
	out := []theory.Pitch{p}
	if p.Octave++; p.MIDI() <= 55 {
		out = append(out, p)
	}
	return out
}

// struck strikes pitches together for the length of the cell. Without a kind, the first
// is the bass.
func (c Cell) struck(kind score.Kind, ps ...theory.Pitch) []Tone {
	var out []Tone
	for i, p := range ps {
		k := score.Bass
		if kind != 0 || i > 0 {
			k = c.kindOf(p, score.Chord)
		}
		out = append(out, Tone{At: c.At, Dur: c.Dur(), Pitch: p, Kind: k})
	}
	return out
}
