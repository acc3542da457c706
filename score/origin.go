package score

import (
	"fmt"

	"gradatim/reason"
)

// Kind is what a note is for.
type Kind uint8

// Kinds of notes. The zero Kind is none: a note of another's score.
const (
	Melody     Kind = iota + 1 // the tune, as written or pushed early
	Chord                      // a chord tone in an inner voice or the left hand
	Tension                    // an added note: 2nd, 4th, 6th, 9th, 11th, 13th
	Bass                       // the chord's lowest note
	Approach                   // leads by step into the next target
	Passing                    // between two targets
	Ornamental                 // turn, mordent, slide, crush, enclosure
	Fill                       // answers the tune in a gap
	GhostNote                  // barely sounding
	Doubling                   // the tune in another octave
	Run                        // a line that lands on the beat
)

var kinds = [...]string{
	Melody: "melody", Chord: "chord", Tension: "tension", Bass: "bass", Approach: "approach",
	Passing: "passing", Ornamental: "ornament", Fill: "fill", GhostNote: "ghost",
	Doubling: "doubling", Run: "run",
}

// String returns the kind's name as the account writes it; "" for none.
func (k Kind) String() string {
	if int(k) >= len(kinds) {
		return ""
	}
	return kinds[k]
}

// MarshalText writes the name.
func (k Kind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// Origin answers "why is this note here?". The zero Origin on a note of ours is
// a bug.
type Origin struct {
	Kind      Kind
	Melody    int    // 1 + index into the expanded melody; 0: not a melody note
	Technique string // id of the technique that made it
	Why       reason.Reason
}

// Event returns the melody index, and false where the note is not the tune's.
func (o Origin) Event() (int, bool) { return o.Melody - 1, o.Melody > 0 }

// UnmarshalText reads what MarshalText wrote. The error quotes what is no kind.
func (k *Kind) UnmarshalText(b []byte) error {
	for i, name := range kinds {
		if name == string(b) {
			*k = Kind(i)
			return nil
		}
	}
	return fmt.Errorf("score: %q is no kind of note", b)
}
