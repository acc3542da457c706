package technique

// Manner is how a level wants done what its techniques could do in more than one
// way. The zero Manner asks for the plainest. Its fields are those of the level's
// file, see docs/formats.md.
type Manner struct {
	Colours         Colours
	SuspensionBeats int  // how long a suspended fourth stands at least; 0 is 1
	QuickChords     bool // an inserted chord may last one beat where the tempo would ask for two
	ApproachChain   bool // in jazzy styles a half-step approach leads into each chord of a quick row
	PlainReturn     bool // in jazzy styles the last dominant of a turnaround has no colours

	Inversions   bool // a triad may be broken in the inversion that lies nearest
	LastChord    LastChord
	BlockVoices  int  // notes of a block chord, the tune's included; 0 is 3
	MovingVoice  bool // a second voice moves where the tune holds a note
	OctavesFirst bool // octaves the first time that a section is heard; false: when it returns
}

// Colours is how many of a chord's further notes, 9th, 11th and 13th, a level
// likes at once.
type Colours uint8

// Colours of a level.
const (
	OneColour   Colours = iota // one before two
	MoreColours                // one first, and each further one is welcome
	TwoColours                 // two at once first, and each further one is welcome
)

// LastChord is how the left hand may close the piece beside holding a chord.
type LastChord uint8

// Last chords.
const (
	HeldLast   LastChord = iota // no wider than the hand
	RolledLast                  // root, fifth and tenth together, rolled where the hand needs it
)

func (m Manner) blockVoices() int { return max(3, m.BlockVoices) }
