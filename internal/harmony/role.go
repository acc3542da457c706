package harmony

import "gradatim/theory"

// RoleKind says what a melody note is to the chord under its onset.
type RoleKind uint8

// Kinds of role. Unharmonised notes have no chord under them.
const (
	Unharmonised RoleKind = iota
	ChordTone
	Tension
	PassingTone
	Neighbour
	Suspension
	Anticipation
	Appoggiatura
	Escape
	Free // none of these: it is left as it is reached, by leap
)

var roleKinds = [...]string{"unharmonised", "chord tone", "tension", "passing tone", "neighbour",
	"suspension", "anticipation", "appoggiatura", "escape tone", "free"}

// String returns the kind's name in lower case.
func (k RoleKind) String() string {
	if int(k) >= len(roleKinds) {
		return "unknown"
	}
	return roleKinds[k]
}

// MarshalText writes the name.
func (k RoleKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// Role is what one melody note is.
type Role struct {
	Kind      RoleKind
	Degree    theory.Degree // over the root of the chord at its onset; zero when unharmonised
	Span      int           // index of the span at its onset; −1 when there is none
	Suspended int           // index of the later span that it is held into as a suspension; −1 when none
	Weight    int           // structural weight from metre and length, 0 to 16
}
