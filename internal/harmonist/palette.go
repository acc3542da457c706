package harmonist

import (
	"gradatim/internal/idiom"
	"gradatim/internal/technique"
	"gradatim/theory"
)

// triad is what a chord of the palette is made of.
type triad uint8

const (
	major triad = iota
	minor
	diminished
	augmented
	triads
)

// state is a chord as the key has it: how far its root lies above the tonic, in half steps.
type state struct {
	above int
	triad triad
}

// The two palettes: keys with a major third over the tonic, keys with a minor one.
const (
	majorish = iota
	minorish
	palettesN
)

// palettes: the chords that stand for long enough on the sheets that were counted.
var palettes = [palettesN][]state{
	{{0, major}, {7, major}, {5, major}, {2, minor}, {2, major}, {9, minor}, {9, major}, {4, major}, {4, minor},
		{5, minor}, {11, major}, {10, major}, {7, minor}, {3, major}, {8, major}, {0, minor}, {7, augmented}, {0, augmented},
		{6, diminished}, {11, diminished}, {1, diminished}},
	{{0, minor}, {7, major}, {10, major}, {3, major}, {7, minor}, {8, major}, {5, minor}, {5, major}, {0, major},
		{2, major}, {10, minor}, {1, major}, {5, diminished}, {2, diminished}},
}

func paletteOf(k theory.Key) int {
	if k.Mode.Minorish() {
		return minorish
	}
	return majorish
}

// triadOf is a chord's triad.
func triadOf(c theory.Chord) triad {
	switch {
	case c.Diminished():
		return diminished
	case c.MinorThird():
		return minor
	case c.Tones.Has(theory.Degree{Number: 5, Alter: 1}):
		return augmented
	}
	return major
}

// stateOf finds a chord in the palette of a key; −1 where it is not there.
func stateOf(c theory.Chord, k theory.Key) int {
	want := state{(c.Root.Class() - k.Tonic.Class() + 12) % 12, triadOf(c)}
	for i, s := range palettes[paletteOf(k)] {
		if s == want {
			return i
		}
	}
	return -1
}

// rootSteps spell a root by its distance: flat degrees, but for the raised fourth. A
// diminished chord stands on the raised degree below its goal.
var rootSteps = [12]int{0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6}

// root spells a state's root in a key.
func (s state) root(k theory.Key) theory.Name {
	class := (k.Tonic.Class() + s.above) % 12
	for _, n := range k.Scale() {
		if n.Class() == class {
			return n
		}
	}
	steps := rootSteps[s.above]
	if s.triad == diminished && s.above == 1 {
		steps = 0
	}
	return k.Tonic.Up(theory.Interval{Steps: int8(steps), Semitones: int8(s.above)}).Reading()
}

var triadDegrees = [triads]theory.Degrees{
	major:      theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3}, theory.Degree{Number: 5}),
	minor:      theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3, Alter: -1}, theory.Degree{Number: 5}),
	diminished: theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3, Alter: -1}, theory.Degree{Number: 5, Alter: -1}),
	augmented:  theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3}, theory.Degree{Number: 5, Alter: 1}),
}

// chord is the state's triad in a key.
func (s state) chord(k theory.Key) theory.Chord {
	return theory.Chord{Root: s.root(k), Tones: triadDegrees[s.triad]}
}

// symbol is the chord as it is printed before another one: a major triad that falls a
// fifth, in the key the dominant anyway, has its seventh. Common practice, no source.
func (s state) symbol(k theory.Key, next *state, plain bool) theory.Chord {
	c := s.chord(k)
	falls := next != nil && (s.above+5)%12 == next.above
	applied := s.above == 2 || s.above == 9 || s.above == 4 || s.above == 11
	switch {
	case plain:
	case s.triad == major && s.above == 7, s.triad == major && falls && applied && !(paletteOf(k) == minorish && s.above != 2):
		c.Tones = c.Tones.With(theory.Degree{Number: 7, Alter: -1})
	case s.triad == diminished && s.above == 2, s.triad == diminished && s.above == 11:
		c.Tones = c.Tones.With(theory.Degree{Number: 7, Alter: -1})
	case s.triad == diminished:
		c.Tones = c.Tones.With(theory.Degree{Number: 7, Alter: -2})
	}
	return c
}

// Group is what kinds of tune have in common in their chords.
type Group uint8

// Groups.
const (
	Songs Group = iota
	Dances
	Standards
	groups
)

// GroupOf tells which group a kind of tune belongs to, by what it does with its chords:
// what keeps to sevenths on what leads on is sung, or danced to in time; what colours more
// is a standard.
func GroupOf(k idiom.Idiom) Group {
	switch {
	case k.Usage.Palette != technique.Sevenths:
		return Standards
	case k.InTime:
		return Dances
	}
	return Songs
}

// Rhythm is how often a tune's chords change.
type Rhythm uint8

// Rhythms. Found leaves it to the tune.
const (
	Found Rhythm = iota
	Slow         // less than two changes in three bars
	Usual
	Quick // more than one a bar
)

// rhythms are those that are not Found.
const rhythms = 3

var rhythmNames = [...]string{Found: "", Slow: "slow", Usual: "usual", Quick: "quick"}

// String returns "slow", "usual" or "quick", and "" of Found.
func (r Rhythm) String() string { return rhythmNames[r] }

// ParseRhythm reads what String writes.
func ParseRhythm(s string) (_ Rhythm, ok bool) {
	for i, n := range rhythmNames {
		if n == s {
			return Rhythm(i), true
		}
	}
	return Found, false
}
