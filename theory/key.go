package theory

import (
	"fmt"
	"strings"
)

// Mode is a scale form that a key can have.
type Mode uint8

// The modes. Minor is natural minor with its usual raised 6th and 7th allowed;
// Aeolian keeps them natural.
const (
	Major Mode = iota + 1
	Minor
	Dorian
	Phrygian
	Lydian
	Mixolydian
	Aeolian
	Locrian
)

var modes = [...]struct {
	name   string
	fifths int // signature of the mode on C, in fifths
}{
	Major: {"major", 0}, Minor: {"minor", -3}, Dorian: {"dorian", -2}, Phrygian: {"phrygian", -4},
	Lydian: {"lydian", 1}, Mixolydian: {"mixolydian", -1}, Aeolian: {"aeolian", -3}, Locrian: {"locrian", -5},
}

// String returns the mode's name in lower case.
func (m Mode) String() string {
	if m == 0 || int(m) >= len(modes) {
		return "no mode"
	}
	return modes[m].name
}

// Minorish tells whether the mode's third is minor.
func (m Mode) Minorish() bool {
	switch m {
	case Minor, Dorian, Phrygian, Aeolian, Locrian:
		return true
	}
	return false
}

// Key is a tonic and a mode. The zero Key is no key; Valid tells.
type Key struct {
	Tonic Name
	Mode  Mode
}

// Valid tells whether the key has a mode.
func (k Key) Valid() bool { return k.Mode >= Major && k.Mode <= Locrian }

// Fifths returns the key signature: sharps positive, flats negative.
func (k Key) Fifths() int { return k.Tonic.Fifths() + modes[k.Mode].fifths }

// KeyOf returns the key of a mode that has the given signature.
func KeyOf(fifths int, m Mode) Key { return Key{NameOnFifths(fifths - modes[m].fifths), m} }

// Signature returns the alteration, in semitones, that the key signature gives a
// letter.
func (k Key) Signature(l Letter) int8 {
	return int8(floorDiv(k.Fifths()-lineOfFifths[l]+5, 7))
}

// Scale returns the seven names of the key, tonic first.
func (k Key) Scale() [7]Name {
	var s [7]Name
	for i := range s {
		l := Letter(mod(int(k.Tonic.Letter)+i, 7))
		s[i] = Name{l, k.Signature(l)}
	}
	return s
}

// Contains tells whether the name is in the key as signed.
func (k Key) Contains(n Name) bool { return k.Signature(n.Letter) == n.Alter }

// Degree returns the scale degree (1 to 7) of a name and its alteration against
// the MAJOR scale of the tonic, as Roman numerals count: in C, E♭ is (3, −1).
func (k Key) Degree(n Name) (degree int, alter int) {
	iv := NameInterval(k.Tonic, n)
	alter = int(iv.Semitones) - letterSemitones[iv.Steps]
	if alter > 6 {
		alter -= 12
	} else if alter < -6 {
		alter += 12
	}
	return int(iv.Steps) + 1, alter
}

// Transpose moves the key by an interval.
func (k Key) Transpose(iv Interval) Key { return Key{k.Tonic.Up(iv), k.Mode} }

// String writes "F major", "C# minor", "D dorian".
func (k Key) String() string {
	if !k.Valid() {
		return "no key"
	}
	return k.Tonic.String() + " " + k.Mode.String()
}

// Pretty writes the key with the signs of print.
func (k Key) Pretty() string {
	if !k.Valid() {
		return "no key"
	}
	return k.Tonic.Pretty() + " " + k.Mode.String()
}

// ParseKey reads "F", "Dm", "C# minor", "Bb major", "D dorian", "Gmix". The error
// quotes the text.
func ParseKey(s string) (Key, error) {
	n, rest, err := cutName(strings.ReplaceAll(strings.ReplaceAll(strings.TrimSpace(s), "♭", "b"), "♯", "#"))
	if err != nil {
		return Key{}, fmt.Errorf("theory: %q is not a key such as F, Dm or D dorian", s)
	}
	rest = strings.TrimSpace(rest)
	switch rest {
	case "", "M":
		return Key{n, Major}, nil
	case "m":
		return Key{n, Minor}, nil
	}
	low := strings.ToLower(rest)
	if low == "ionian" || low == "ion" {
		return Key{n, Major}, nil
	}
	for m := Major; m <= Locrian; m++ {
		name := m.String()
		if low == name || len(low) >= 3 && strings.HasPrefix(name, low) {
			return Key{n, m}, nil
		}
	}
	return Key{}, fmt.Errorf("theory: %q is not a key such as F, Dm or D dorian", s)
}
