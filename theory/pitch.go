package theory

import (
	"cmp"
	"fmt"
	"strconv"
)

// Letter is a note letter; C is 0 and B is 6, as the octave counts them.
type Letter int8

// The seven letters.
const (
	C Letter = iota
	D
	E
	F
	G
	A
	B
)

var letterSemitones = [7]int{0, 2, 4, 5, 7, 9, 11}

// String returns the letter, "C" to "B".
func (l Letter) String() string { return "CDEFGAB"[l : l+1] }

// Semitones is the distance of the natural letter above C.
func (l Letter) Semitones() int { return letterSemitones[l] }

// Name is a spelled pitch class, such as F♯: a letter and an alteration in
// semitones (−2 double flat to +2 double sharp; rare keys go to ±3).
type Name struct {
	Letter Letter
	Alter  int8
}

// Class returns the pitch class, 0 (C) to 11 (B).
func (n Name) Class() int { return mod(n.Letter.Semitones()+int(n.Alter), 12) }

// Fifths returns the place of the name on the line of fifths: F −1, C 0, G 1, B♭ −2.
func (n Name) Fifths() int { return lineOfFifths[n.Letter] + 7*int(n.Alter) }

var lineOfFifths = [7]int{0, 2, 4, -1, 1, 3, 5}

// NameOnFifths is the inverse of Name.Fifths.
func NameOnFifths(f int) Name {
	l := Letter(mod(4*f, 7))
	return Name{l, int8((f - lineOfFifths[l]) / 7)}
}

// String writes the name in ASCII: "F#", "Bb", "C##".
func (n Name) String() string { return n.Letter.String() + accidentals(int(n.Alter), '#', 'b') }

// Pretty writes the name with the signs of print: "F♯", "B♭", "C𝄪".
func (n Name) Pretty() string {
	switch n.Alter {
	case 2:
		return n.Letter.String() + "𝄪"
	case -2:
		return n.Letter.String() + "𝄫"
	}
	return n.Letter.String() + accidentals(int(n.Alter), '♯', '♭')
}

func accidentals(alter int, sharp, flat rune) string {
	s := ""
	for ; alter > 0; alter-- {
		s += string(sharp)
	}
	for ; alter < 0; alter++ {
		s += string(flat)
	}
	return s
}

// ParseName reads "C", "F#", "Bb", "C##"; the exact inverse of Name.String. The
// error quotes the text.
func ParseName(s string) (Name, error) {
	n, rest, err := cutName(s)
	if err != nil {
		return Name{}, err
	}
	if rest != "" {
		return Name{}, fmt.Errorf("theory: %q is not a note name", s)
	}
	return n, nil
}

// cutName reads a name at the start of s and returns what follows it.
func cutName(s string) (Name, string, error) {
	if s == "" {
		return Name{}, s, fmt.Errorf("theory: empty note name")
	}
	l, ok := letterOf(s[0])
	if !ok {
		return Name{}, s, fmt.Errorf("theory: %q does not start with a letter A to G", s)
	}
	i, alter := 1, 0
	for i < len(s) && i <= 3 && (s[i] == '#' || s[i] == 'b') && (i == 1 || s[i] == s[1]) {
		if s[i] == '#' {
			alter++
		} else {
			alter--
		}
		i++
	}
	return Name{l, int8(alter)}, s[i:], nil
}

func letterOf(c byte) (Letter, bool) {
	if c < 'A' || c > 'G' {
		return 0, false
	}
	return Letter(mod(int(c)-'C', 7)), true
}

// At returns the pitch of this name in the given octave.
func (n Name) At(octave int) Pitch { return Pitch{n, int8(octave)} }

// Nearest returns the pitch with this name that is closest to the given MIDI
// number; of two equally near, the lower.
func (n Name) Nearest(midi int) Pitch {
	best := n.At(floorDiv(midi, 12) - 2)
	for o := floorDiv(midi, 12) - 2; o <= floorDiv(midi, 12)+1; o++ {
		if p := n.At(o); abs(p.MIDI()-midi) < abs(best.MIDI()-midi) {
			best = p
		}
	}
	return best
}

// Above returns the lowest pitch with this name at or above the MIDI number.
func (n Name) Above(midi int) Pitch {
	p := n.At(floorDiv(midi, 12) - 3)
	for p.MIDI() < midi {
		p.Octave++
	}
	return p
}

// Below returns the highest pitch with this name at or below the MIDI number.
func (n Name) Below(midi int) Pitch {
	p := n.Above(midi)
	if p.MIDI() > midi {
		p.Octave--
	}
	return p
}

// Pitch is a spelled pitch in scientific notation: C4 is middle C.
type Pitch struct {
	Name
	Octave int8
}

// MIDI returns the key number; C4 is 60, A4 is 69.
func (p Pitch) MIDI() int {
	return 12*(int(p.Octave)+1) + p.Letter.Semitones() + int(p.Alter)
}

// Staff returns the diatonic position: C4 is 28, D4 29; accidentals do not count.
func (p Pitch) Staff() int { return 7*int(p.Octave) + int(p.Letter) }

// String writes the pitch as "C#4".
func (p Pitch) String() string { return p.Name.String() + strconv.Itoa(int(p.Octave)) }

// Pretty writes the pitch with the signs of print, "C♯4".
func (p Pitch) Pretty() string { return p.Name.Pretty() + strconv.Itoa(int(p.Octave)) }

// ParsePitch reads "C#4"; the exact inverse of Pitch.String. The error quotes the
// text.
func ParsePitch(s string) (Pitch, error) {
	n, rest, err := cutName(s)
	if err != nil {
		return Pitch{}, err
	}
	o, err := strconv.ParseInt(rest, 10, 8)
	if err != nil || strconv.Itoa(int(o)) != rest || o < -1 || o > 10 {
		return Pitch{}, fmt.Errorf("theory: %q is not a pitch such as C#4", s)
	}
	return n.At(int(o)), nil
}

// MarshalText writes the pitch as String does.
func (p Pitch) MarshalText() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalText reads what MarshalText wrote; its errors are those of ParsePitch.
func (p *Pitch) UnmarshalText(b []byte) (err error) {
	*p, err = ParsePitch(string(b))
	return err
}

// ComparePitch orders by sounding height, then by spelling.
func ComparePitch(a, b Pitch) int {
	return cmp.Or(cmp.Compare(a.MIDI(), b.MIDI()), cmp.Compare(a.Staff(), b.Staff()))
}

func mod(a, n int) int {
	m := a % n
	if m < 0 {
		m += n
	}
	return m
}

func floorDiv(a, n int) int { return (a - mod(a, n)) / n }

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}
