package score

import (
	"cmp"
	"slices"
	"sort"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Hand is a hand of the player, and the staff that it reads.
type Hand uint8

// Hands.
const (
	Right Hand = iota + 1
	Left
)

// String returns "right" or "left".
func (h Hand) String() string {
	switch h {
	case Right:
		return "right"
	case Left:
		return "left"
	}
	return "no hand"
}

// Score is a whole piano piece.
type Score struct {
	Title     string
	Subtitle  string // for example "Level 3, early intermediate"
	Composer  string
	Arranger  string
	Rights    string // the line at the foot of the page
	Level     int    // its number, 1 to 99, a label; 0 when it is not one of a ladder
	LevelName string

	StaffHeight int // in tenths of a millimetre, from 30 to 140; 0: 7 mm
	Pedal       Pedalling

	Tempo leadsheet.Tempo
	Feel  leadsheet.Feel
	Swing Ratio // meaningful where Feel is Swing

	Live      bool // written down from a playing: notes have their Stroke, tempo and pedal are the player's
	Continues bool // an excerpt: music follows that is not here, and no final bar line
	Alone     Hand // the hand for which all of it is, on its staff alone; 0: both

	Bars       []Bar
	Notes      []Note // ordered by Compare
	Chords     []Symbol
	Lyrics     []Lyric     // ordered by At, hand and verse
	Directions []Direction // ordered by At
}

// Lyric is what a verse has on the notes that a hand strikes at a moment.
type Lyric struct {
	At   theory.Dur
	Hand Hand
	leadsheet.Syllable
}

// Pedalling is what the player does with the damper pedal beside what is written.
type Pedalling uint8

// Ways to pedal.
const (
	PedalAsWritten Pedalling = iota // nothing; by ear only where no pedal is written at all
	PedalByEar                      // as a pianist would, where no pedal is written
	PedalForRolls                   // only to hold a wide roll
)

// Ratio is the long and the short part of a swung pair, in lowest terms.
type Ratio struct{ First, Second int }

// Bar is one bar of the page.
type Bar struct {
	At, Dur     theory.Dur
	Meter       leadsheet.Meter
	Key         theory.Key
	Number      int  // as printed; a pick-up is 0
	Pickup      bool // shorter than its metre by intent: printed without a number
	Section     string
	PhraseStart bool       // a phrase begins here: a good place for a new system
	PhraseAt    theory.Dur // how far into the bar it begins, after the end of the one before
	LineBreak   bool       // a system must begin here

	// Which bar of the sheet it comes from, for ids: its part, its number there, with
	// repeats not written out (0: Number), and which playing of it, from 1 (0: the
	// first).
	Part  Part
	Sheet int
	Pass  int

	Signs leadsheet.Signs // for another order of playing than that of the bars, see Played
}

// End returns the position after the bar.
func (b Bar) End() theory.Dur { return b.At + b.Dur }

// Offset tells how far into its full bar a position of the bar is: a pick-up is the
// end of one.
func (b Bar) Offset(at theory.Dur) theory.Dur {
	return leadsheet.Bar{At: b.At, Dur: b.Dur, Meter: b.Meter, Pickup: b.Pickup}.Offset(at)
}

// Note is one sounding note.
type Note struct {
	ID    string // unique in the score; an XML name; made of the note's place
	Hand  Hand
	Staff Hand  // the staff it is written on, where that is not its hand's; 0: its hand's
	Voice uint8 // 1 (stems up where there are two) or 2, of its hand; readers may meet up to 8

	At, Dur theory.Dur
	Pitch   theory.Pitch

	// Grace counts the place of a grace note before its main note, from 1; its
	// At is the main note's and its Dur is 0. 0 means an ordinary note.
	Grace uint8

	Finger   uint8 // 1 to 5; 0 none printed
	FingerTo uint8 // silent change to this finger; 0 none
	Marks    Marks
	Ornament Ornament
	Velocity int8 // percent louder (+) or softer (−) than its part; 0 none
	Stroke   Stroke

	Origin Origin
}

// Stroke is how a note was played, where the score is of a playing: how hard its key goes
// down, 1 to 127 as in MIDI, and how long after its written beginning and end (before:
// negative) the key goes down and comes up. The zero Stroke: nobody has said.
type Stroke struct {
	Velocity uint8
	On, Off  theory.Dur
}

// End returns the position after the note.
func (n Note) End() theory.Dur { return n.At + n.Dur }

// Marks is a set of signs on a note.
type Marks uint16

// Signs.
const (
	Rolled Marks = 1 << iota // the chord it belongs to is rolled upwards
	Ghost                    // in parentheses, softer
	Staccato
	Tenuto
	Accent
	Fermata
	Slashed  // a grace note with a slash: as short as can be
	SlurFrom // a slur starts here
	SlurTo   // and ends here
	Courtesy // print a courtesy accidental
	Hidden   // sounds but is not printed
	Fingered // the finger is a teacher's: it is printed whatever else is
	Bare     // the finger is printed nowhere: the teacher's page has none here
)

// Has tells whether all of the given signs are set.
func (m Marks) Has(s Marks) bool { return m&s == s }

// Ornament is a sign above a note that stands for several notes.
type Ornament uint8

// Ornaments. A Mordent goes to the lower neighbour and back, an
// UpperMordent to the upper, a Turn upper–main–lower–main.
const (
	NoOrnament Ornament = iota
	Mordent
	UpperMordent
	Turn
	Trill
	Tremolo
)

// Symbol is a printed chord symbol.
type Symbol struct {
	At    theory.Dur
	Chord theory.Chord
	Text  string // how it is printed; empty: the house style of the chord
	Roman string // its function in the key, for who asks
}

// DirectionKind is a kind of Direction.
type DirectionKind uint8

// Directions.
const (
	Words DirectionKind = iota + 1
	Dynamic
	PedalDown
	PedalUp
	OctaveUp  // 8va begins: written an octave lower than it sounds
	OctaveEnd // 8va ends
	Rehearsal
	ClefTreble // the staff of Hand changes to a treble clef
	ClefBass
	Crescendo  // a hairpin that opens, until HairpinEnd or the next dynamic sign of its staff
	Diminuendo // and one that closes
	HairpinEnd
	TempoChange // from here on a quarter lasts Value microseconds: played, not printed
	PedalDepth  // the pedal that is down, or any of a live score, goes to Value, 0 to 127 as in MIDI: played, not printed
)

// Direction is a sign that belongs to a moment, not to a note.
type Direction struct {
	At    theory.Dur
	Kind  DirectionKind
	Hand  Hand // staff; 0: the upper
	Text  string
	Value int // of PedalDown how far, where it is not all the way
}

// Compare orders notes by time, then right hand before left, voice, grace notes
// before their main note, and height.
func Compare(a, b Note) int { return compare(&a, &b) }

func compare(a, b *Note) int {
	if a.At != b.At {
		return cmp.Compare(a.At, b.At)
	}
	ga, gb := int(a.Grace), int(b.Grace)
	if ga == 0 {
		ga = 1 << 8
	}
	if gb == 0 {
		gb = 1 << 8
	}
	return cmp.Or(cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Voice, b.Voice),
		cmp.Compare(ga, gb), theory.ComparePitch(a.Pitch, b.Pitch), cmp.Compare(a.Dur, b.Dur),
		cmp.Compare(len(a.ID), len(b.ID)), cmp.Compare(a.ID, b.ID)) // "-9" before "-10"
}

// Finish returns the score with its notes in order, each with an id: one that is
// missing is made of the note's place, see docs/formats.md.
func (s Score) Finish() Score {
	order := make([]*Note, len(s.Notes))
	for i := range order {
		order[i] = &s.Notes[i]
	}
	slices.SortStableFunc(order, compare)
	s.Notes = slices.Clone(s.Notes)
	for i, n := range order {
		s.Notes[i] = *n
	}
	s.nameNotes()
	s.Lyrics = slices.Clone(s.Lyrics)
	slices.SortStableFunc(s.Lyrics, func(a, b Lyric) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Hand, b.Hand), cmp.Compare(a.Verse, b.Verse))
	})
	s.Directions = slices.Clone(s.Directions)
	slices.SortStableFunc(s.Directions, func(a, b Direction) int { return cmp.Compare(a.At, b.At) })
	return s
}

// End returns the position after the last bar.
func (s Score) End() theory.Dur {
	if len(s.Bars) == 0 {
		return 0
	}
	return s.Bars[len(s.Bars)-1].End()
}

// BarAt returns the index of the bar that holds a position; −1 in a score
// without bars.
func (s Score) BarAt(at theory.Dur) int {
	i := sort.Search(len(s.Bars), func(i int) bool { return s.Bars[i].At > at })
	if i == 0 && len(s.Bars) > 0 {
		return 0
	}
	return i - 1
}

// PosAt places a moment by bar and beat.
func (s Score) PosAt(at theory.Dur) leadsheet.Pos {
	i := s.BarAt(at)
	if i < 0 {
		return leadsheet.Pos{}
	}
	b := s.Bars[i]
	return leadsheet.Pos{Bar: b.Number, Beat: b.Meter.BeatAt(b.Offset(at)), Part: b.Part}
}

// ChordAt returns the printed chord in force at a position; ok is false before
// the first symbol.
func (s Score) ChordAt(at theory.Dur) (Symbol, bool) {
	i := sort.Search(len(s.Chords), func(i int) bool { return s.Chords[i].At > at })
	if i == 0 {
		return Symbol{}, false
	}
	return s.Chords[i-1], true
}
