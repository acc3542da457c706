package technique

import (
	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// MelodyNote is a note of the tune as it stands on this page: its octave chosen
// and perhaps pushed early.
type MelodyNote struct {
	At, End theory.Dur
	Pitch   theory.Pitch
	Event   int    // index into the song's melody
	Pushed  bool   // begins before its written place
	By      string // id of what pushed it
}

// Tune is the melody line that techniques of the Line stage look at.
type Tune struct {
	Song   leadsheet.Song
	Notes  []MelodyNote
	Change func(theory.Dur) bool // tells whether the chord changes at a position
	Caps   Caps
}

// Caps bind what an arrangement adds at a level; what the melody itself exceeds
// is kept.
type Caps struct {
	NotesPerSecond [2]int     // right, left, in tenths of a note a second at the printed tempo
	AtOnce         [2]int     // notes of one hand at one moment, the melody included
	Span           [2]int     // semitones struck together
	JumpPerBeat    int        // semitones that the left hand travels in a beat or less; 0: no cap
	KeySignature   int        // sharps or flats that are read at the level; 0: no cap
	Shortest       theory.Dur // of what is written out; grace notes and ghosts are not counted; 0: no cap
}

// Setting is what all cells of a page share.
type Setting struct {
	Tempo  int // quarters a minute, as printed
	Swing  bool
	Manner Manner
	Usage  Usage
	Caps   Caps
	Hand   hand.Profile
	High   int // highest left-hand note that suits the level, MIDI
}

// Cell is a stretch of one bar under one chord: what a figure has to fill.
type Cell struct {
	*Setting
	At, End  theory.Dur
	BarAt    theory.Dur
	Meter    leadsheet.Meter
	Key      theory.Key
	Chord    theory.Chord
	Prev     theory.Chord  // of the cell before; zero at the start
	Next     theory.Chord  // of the following cell; zero at the end
	Added    theory.Degree // the note that joined the triad; zero: none
	Melody   []MelodyNote  // those that sound in the cell, in order
	Low      int           // lowest bass note that suits the level, MIDI
	NewChord bool          // the chord changes here
	Opens    bool          // a phrase starts here
	Closes   bool          // a phrase ends with this cell
	Last     bool          // the piece ends with this cell
	Held     theory.Dur    // how long the chord has already sounded
	Again    bool          // the section has been heard before
}

// Dur is the cell's length.
func (c Cell) Dur() theory.Dur { return c.End - c.At }

// Pulse returns the unit that patterns count in: the beat, but the quarter in
// 2/2, as its patterns are those of 4/4.
func (c Cell) Pulse() theory.Dur { return c.Meter.Pulse() }

// MelodyLow returns the lowest melody key that sounds in [from, to), and a high
// number where there is none.
func (c *Cell) MelodyLow(from, to theory.Dur) int {
	low := 127
	for i := range c.Melody {
		n := &c.Melody[i]
		if n.At < to && n.End > from {
			low = min(low, n.Pitch.MIDI())
		}
	}
	return low
}

// Tone is one note that a figure proposes.
type Tone struct {
	At, Dur  theory.Dur
	Pitch    theory.Pitch
	Kind     score.Kind
	Marks    score.Marks
	Ornament score.Ornament
	Grace    uint8
	Velocity int8
}

// End is the position after the tone.
func (t Tone) End() theory.Dur { return t.At + t.Dur }

// Figure is one way to fill a cell with one hand.
type Figure struct {
	Tones []Tone        // ordered by time, then height
	Cost  int           // the technique's own preference; 0 is best
	By    string        // technique id, where the figure belongs to another than the one that offers it
	Say   reason.Reason // what it is: root, then third and fifth together
	// Under is what the notes are that something barely heard is added to; nil: what the
	// figure is.
	Under reason.Reason
	// Lead is the key that has to begin the next figure, for lines that approach
	// it; 0: free.
	Lead int
	// Drop is, in the right hand, the voice of its chord that it leaves to the left,
	// as the key that the left hand has to strike with it; in the left hand the key
	// with which it answers after its bass. 0: none.
	Drop   int
	Dotted bool // its short notes follow dotted ones: they are no quicker for the hand than the beat
	Pedal  bool // sounds right only with the damper pedal held through the figure
	Holds  bool // its lowest note is held under what is struck with it, and the upper ones are a voice

	// For ornaments: a sign on the tune's own note, and where the tune's note is
	// let go so that the hand is free; 0: it is held.
	Sign    score.Ornament
	CutTune theory.Dur
	Frees   theory.Dur // where what the hand holds under the tune is let go; 0: with the tune
	Clears  bool       // the left hand's chords may give way to it, its bass stays
}

// Top and Bottom return the figure's extremes; a rest has 0 and 127.
func (f Figure) Top() int {
	top := 0
	for _, t := range f.Tones {
		top = max(top, t.Pitch.MIDI())
	}
	return top
}

// Bottom returns the lowest key.
func (f Figure) Bottom() int {
	low := 127
	for _, t := range f.Tones {
		low = min(low, t.Pitch.MIDI())
	}
	return low
}

// Spot is a place for an ornament or a fill on a page whose notes stand.
type Spot struct {
	Cell   Cell
	Before MelodyNote // the tune's note before Note
	Note   MelodyNote // the note to adorn, or the one before the gap
	Next   MelodyNote // the tune's next note; its Event is −1 at the end
	From   theory.Dur // the gap after (or under) Note; From = Until: none
	Until  theory.Dur
	Under  []Cell       // the cells that the gap lies over, in order
	Goal   theory.Chord // the chord under the tune's next note
	Room   int          // highest left-hand key under the gap; 0 none
}
