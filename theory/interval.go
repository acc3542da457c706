package theory

import "fmt"

// Interval is a spelled, directed interval: letter steps and semitones. A major
// third up is {2, 4}; down {−2, −4}.
type Interval struct {
	Steps     int8
	Semitones int8
}

// Some intervals that need no reading.
var (
	Unison = Interval{0, 0}
	Octave = Interval{7, 12}
)

// Between returns the interval that leads from one pitch to another.
func Between(from, to Pitch) Interval {
	return Interval{int8(to.Staff() - from.Staff()), int8(to.MIDI() - from.MIDI())}
}

// Up moves the pitch by the interval (a negative interval moves it down).
func (p Pitch) Up(iv Interval) Pitch {
	s := p.Staff() + int(iv.Steps)
	q := Pitch{Name{Letter(mod(s, 7)), 0}, int8(floorDiv(s, 7))}
	q.Alter = int8(p.MIDI() + int(iv.Semitones) - q.MIDI())
	return q
}

// Up moves the name by the interval.
func (n Name) Up(iv Interval) Name { return n.At(4).Up(iv).Name }

// Neg turns the interval round.
func (iv Interval) Neg() Interval { return Interval{-iv.Steps, -iv.Semitones} }

// NameInterval returns the ascending interval, within one octave, that leads
// from one name to another.
func NameInterval(from, to Name) Interval {
	steps := mod(int(to.Letter)-int(from.Letter), 7)
	semis := to.Letter.Semitones() - from.Letter.Semitones() + int(to.Alter) - int(from.Alter)
	if to.Letter < from.Letter {
		semis += 12
	}
	return Interval{int8(steps), int8(semis)}
}

// NearestInterval returns the interval of at most a tritone that leads from one name to
// another, up or down; a tritone leads up where six semitones do.
func NearestInterval(from, to Name) Interval {
	iv := NameInterval(from, to)
	if iv.Semitones > 6 {
		iv.Steps, iv.Semitones = iv.Steps-7, iv.Semitones-12
	}
	return iv
}

// String writes "M3", "P5", "A4", "d7", "-m2".
func (iv Interval) String() string {
	if iv.Steps < 0 || iv.Steps == 0 && iv.Semitones < 0 {
		return "-" + iv.Neg().String()
	}
	step, oct := int(iv.Steps)%7, int(iv.Steps)/7
	off := int(iv.Semitones) - letterSemitones[step] - 12*oct
	perfect := step == 0 || step == 3 || step == 4
	q := ""
	switch {
	case perfect && off == 0:
		q = "P"
	case !perfect && off == 0:
		q = "M"
	case !perfect && off == -1:
		q = "m"
	case off > 0:
		q = accidentals(off, 'A', 'A')
	case perfect:
		q = accidentals(-off, 'd', 'd')
	default:
		q = accidentals(-off-1, 'd', 'd')
	}
	return fmt.Sprintf("%s%d", q, int(iv.Steps)+1)
}

// ParseInterval reads what String writes; the exact inverse. The error quotes the
// text.
func ParseInterval(s string) (Interval, error) {
	bad := fmt.Errorf("theory: %q is not an interval such as M3 or -P5", s)
	t, neg := s, false
	if len(t) > 0 && t[0] == '-' {
		t, neg = t[1:], true
	}
	i := 0
	for i < len(t) && (t[i] < '0' || t[i] > '9') {
		i++
	}
	var n int
	if _, err := fmt.Sscanf(t[i:], "%d", &n); err != nil || n < 1 || n > 22 || i == 0 || i > 3 {
		return Interval{}, bad
	}
	step := (n - 1) % 7
	semis := letterSemitones[step] + 12*((n-1)/7)
	for off := -4; off <= 3; off++ {
		iv := Interval{int8(n - 1), int8(semis + off)}
		if neg {
			iv = iv.Neg()
		}
		if iv.String() == s {
			return iv, nil
		}
	}
	return Interval{}, bad
}
