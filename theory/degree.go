package theory

import (
	"fmt"
	"iter"
	"math/bits"
	"strconv"
	"strings"
)

// Degree is a chord degree: a number counted from the root (1 to 7, 9, 11, 13)
// and its alteration against the major scale of the root: {7, −1} is ♭7.
type Degree struct {
	Number int8
	Alter  int8
}

// Semitones is the distance above the root, compound degrees an octave up.
func (d Degree) Semitones() int {
	n := int(d.Number) - 1
	return letterSemitones[n%7] + 12*(n/7) + int(d.Alter)
}

// Class is Semitones within an octave.
func (d Degree) Class() int { return mod(d.Semitones(), 12) }

// Interval is the spelled interval above the root.
func (d Degree) Interval() Interval { return Interval{d.Number - 1, int8(d.Semitones())} }

// On spells the degree on a root.
func (d Degree) On(root Name) Name { return root.Up(d.Interval()) }

// String writes "3", "b7", "#11", "bb7".
func (d Degree) String() string {
	return accidentals(int(d.Alter), '#', 'b') + strconv.Itoa(int(d.Number))
}

// Pretty writes "3", "♭7", "♯11".
func (d Degree) Pretty() string {
	return accidentals(int(d.Alter), '♯', '♭') + strconv.Itoa(int(d.Number))
}

// ParseDegree reads what String writes. The error quotes what is no degree.
func ParseDegree(s string) (Degree, error) {
	i := strings.IndexFunc(s, func(r rune) bool { return r >= '0' && r <= '9' })
	var n int
	if i < 0 || i > 2 {
		return Degree{}, fmt.Errorf("theory: %q is not a chord degree", s)
	}
	if _, err := fmt.Sscanf(s[i:], "%d", &n); err != nil || n < 1 || n > 13 {
		return Degree{}, fmt.Errorf("theory: %q is not a chord degree", s)
	}
	for a := int8(-2); a <= 2; a++ {
		if d := (Degree{int8(n), a}); d.String() == s {
			return d, nil
		}
	}
	return Degree{}, fmt.Errorf("theory: %q is not a chord degree", s)
}

// Degrees is a set of chord degrees: a comparable value, so that two chords of
// one quality are equal. Bit (number−1)·5 + alter+2 stands for one degree.
type Degrees uint128

// uint128 holds the 65 possible degrees (13 numbers, 5 alterations).
type uint128 struct{ lo, hi uint64 }

// Valid tells whether the degree can be in a set: 1 to 13, at most doubly
// altered. Sets panic over any other.
func (d Degree) Valid() bool {
	return d.Number >= 1 && d.Number <= 13 && d.Alter >= -2 && d.Alter <= 2
}

func (d Degree) bit() int {
	if !d.Valid() {
		panic(fmt.Sprintf("theory: no chord has degree %d altered by %d", d.Number, d.Alter))
	}
	return (int(d.Number)-1)*5 + int(d.Alter) + 2
}

// DegreesOf builds a set.
func DegreesOf(ds ...Degree) Degrees {
	var s Degrees
	for _, d := range ds {
		s = s.With(d)
	}
	return s
}

// ParseDegrees reads a space-separated list such as "1 b3 5 b7". The error quotes
// the first that is no degree.
func ParseDegrees(s string) (Degrees, error) {
	var set Degrees
	for _, f := range strings.Fields(s) {
		d, err := ParseDegree(f)
		if err != nil {
			return Degrees{}, err
		}
		set = set.With(d)
	}
	return set, nil
}

// With returns the set with one more degree.
func (s Degrees) With(d Degree) Degrees {
	if b := d.bit(); b < 64 {
		s.lo |= 1 << b
	} else {
		s.hi |= 1 << (b - 64)
	}
	return s
}

// Without returns the set with a degree taken out.
func (s Degrees) Without(d Degree) Degrees {
	if b := d.bit(); b < 64 {
		s.lo &^= 1 << b
	} else {
		s.hi &^= 1 << (b - 64)
	}
	return s
}

// Has tells whether the degree is in the set.
func (s Degrees) Has(d Degree) bool {
	if b := d.bit(); b < 64 {
		return s.lo>>b&1 == 1
	} else {
		return s.hi>>(b-64)&1 == 1
	}
}

// Empty tells whether the set has no degree.
func (s Degrees) Empty() bool { return s == Degrees{} }

// Len counts the degrees.
func (s Degrees) Len() int { return bits.OnesCount64(s.lo) + bits.OnesCount64(s.hi) }

// Number returns the degrees with that number, lowest alteration first.
func (s Degrees) Number(n int) []Degree {
	var out []Degree
	for a := int8(-2); a <= 2; a++ {
		if d := (Degree{int8(n), a}); s.Has(d) {
			out = append(out, d)
		}
	}
	return out
}

// List returns the degrees in ascending order.
func (s Degrees) List() []Degree {
	out := make([]Degree, 0, 8)
	for d := range s.All() {
		out = append(out, d)
	}
	return out
}

// All yields the degrees in ascending order.
func (s Degrees) All() iter.Seq[Degree] {
	return func(yield func(Degree) bool) {
		for x := s.lo; x != 0; x &= x - 1 {
			if !yield(degreeAt(bits.TrailingZeros64(x))) {
				return
			}
		}
		if s.hi != 0 {
			yield(degreeAt(64))
		}
	}
}

func degreeAt(bit int) Degree { return Degree{int8(bit/5) + 1, int8(bit%5) - 2} }

// classes returns the pitch classes over the root, one bit each.
func (s Degrees) classes() (mask uint16) {
	for d := range s.All() {
		mask |= 1 << d.Class()
	}
	return mask
}

// turn moves a set of classes up by semitones.
func turn(mask uint16, by int) uint16 {
	by = mod(by, 12)
	return (mask<<by | mask>>(12-by)) & 0xFFF
}

// String writes "1 b3 5 b7".
func (s Degrees) String() string {
	var b strings.Builder
	for i, d := range s.List() {
		if i > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(d.String())
	}
	return b.String()
}
