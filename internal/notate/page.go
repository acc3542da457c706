package notate

import (
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Page is a score as it is written.
type Page struct {
	Source score.Score
	Staves int     // 1 (a lead sheet, or what is for one hand) or 2
	Clefs  [2]Clef // of the right hand's staff and the left hand's
	Bars   []Bar
	Words  []string // of verses below the music, line by line
}

// Bar is one written bar.
type Bar struct {
	score.Bar
	ID               string // unique on the page
	NewMeter, NewKey bool   // to be printed: differs from the bar before, or first
	Line             Barline
	Voices           []Voice // right hand before left, main voice of a hand first
	Clefs            []ClefChange
	Signs            []Sign // ordered by At
}

// Barline is the line at the end of a bar.
type Barline uint8

// Bar lines.
const (
	Plain Barline = iota
	Double
	Final
)

// Clef is a clef of a piano staff.
type Clef uint8

// Clefs.
const (
	Treble Clef = iota + 1
	BassClef
)

// String returns "treble" or "bass".
func (c Clef) String() string { return [...]string{"none", "treble", "bass"}[c] }

// middle is the diatonic position (theory.Pitch.Staff) of the middle line.
func (c Clef) middle() int {
	if c == BassClef {
		return 22 // D3
	}
	return 34 // B4
}

// ClefChange changes the clef of a staff from a moment on.
type ClefChange struct {
	At    theory.Dur
	Staff score.Hand
	Clef  Clef
}

// Voice is what one voice writes in one bar: events that fill it.
type Voice struct {
	Hand   score.Hand
	Lane   int // 1 for the main voice of the hand, 2 below it, 3 and more where needed
	Hidden bool
	Events []Event
}

// Kind is a kind of event.
type Kind uint8

// Kinds of events. A Space is time that passes in a voice without a sign.
const (
	Chord Kind = iota + 1
	Rest
	Space
)

// Event is one written chord (of one note or more), rest or space.
type Event struct {
	Kind     Kind
	At, Dur  theory.Dur // as it sounds
	Value    Value      // as it is written; unused in a Space
	WholeBar bool       // a rest that fills the bar, whatever its length
	Staff    score.Hand // of a rest, and of a chord that does not cross

	Heads  []Head  // ordered by height
	Graces []Grace // before it, in order
	Stem   Stem
	Beams  []Beam // one per beam level; empty: flags

	Ratio   Ratio // of the tuplet that it stands in
	Opens   bool  // first of its tuplet
	Closes  bool  // last of its tuplet
	Bracket bool  // the tuplet shows a bracket (it is not one beamed group)

	Sung []Sung // under it, by verse

	Small    bool // what is added to the tune: printed smaller
	Tremolo  TremoloKind
	Arpeggio int // number of the wavy line that the chord belongs to; 0 none
}

// Ratio is Actual notes in the time of Normal; the zero Ratio is none.
type Ratio struct{ Actual, Normal int }

// Value is a note value with its dots.
type Value struct {
	Base theory.Dur // Breve … SixtyFourth
	Dots int
}

// Breve is two whole notes, the longest value written.
const Breve = 2 * theory.Whole

// Dur returns the length that the value stands for outside a tuplet.
func (v Value) Dur() theory.Dur {
	d, part := v.Base, v.Base
	for range v.Dots {
		part /= 2
		d += part
	}
	return d
}

// Head is one note of a chord.
type Head struct {
	Note       int    // index into Source.Notes
	ID         string // unique on the page
	Pitch      theory.Pitch
	Staff      score.Hand
	First      bool // the note begins here: it carries fingering and signs
	Last       bool // and ends here
	Accidental Accidental
	SlurFrom   int  // number of the slur that begins; 0 none
	SlurTo     int  // number of the slur that ends; 0 none
	SlurOver   bool // the slur that begins lies above, as other notes or words lie below the line
}

// Accidental says whether an accidental is printed beside a head; which one
// follows from the pitch.
type Accidental uint8

// Accidentals.
const (
	Unneeded Accidental = iota
	Needed
	Courtesy // in parentheses
)

// Grace is one grace chord.
type Grace struct {
	Heads []Head
	Value Value
	Slash bool
	Stem  Stem
	Beams []Beam
}

// Stem is a stem's direction.
type Stem uint8

// Stems. NoStem is for whole notes and rests.
const (
	NoStem Stem = iota
	Up
	Down
)

// Beam is the state of one beam level at an event.
type Beam uint8

// Beam states.
const (
	Begin Beam = iota + 1
	Continue
	End
	ForwardHook
	BackwardHook
)

// TremoloKind is how a tremolo is written.
type TremoloKind uint8

// Tremolos. Alternating is written as two notes with beams between, the lower
// part of the chord and its top; Repeated has strokes through one stem.
const (
	NoTremolo TremoloKind = iota
	Alternating
	Repeated
)

// SignKind is a kind of Sign.
type SignKind uint8

// Signs, in the order in which those of one moment are written.
const (
	SignRehearsal SignKind = iota + 1
	SignTempo
	SignChord
	SignPedalUp
	SignPedalDown
	SignOctaveEnd
	SignOctaveUp
	SignHairpinEnd
	SignDynamic
	SignCrescendo
	SignDiminuendo
	SignWords
	SignPace  // heard, not seen: another tempo
	SignDepth // the same of the pedal
)

// Sign is something printed at a moment on a staff.
type Sign struct {
	At    theory.Dur
	Kind  SignKind
	Staff score.Hand
	Text  string
	Later string // beside a dynamic: how loud it is another time
	Chord int    // index into Source.Chords, for SignChord
	Value int    // of SignPace and SignDepth, as that of score.Direction
}

// problems collects what cannot be written as it sounds.
type problems struct {
	list leadsheet.Problems
	s    score.Score
}

func (p *problems) warn(at theory.Dur, says leadsheet.Saying, parts ...any) {
	p.list.Tell(leadsheet.Warning, p.s.PosAt(at), says, parts...)
}
