// Package technique holds what a player learns, one named thing a file: when it
// may be used, what it does to the page, how it is recognised in any score, how
// it is taught and drilled. All techniques are seen from one table (All), and
// adding one is a new file and a row there.
//
// A technique acts at one Stage. Devices rewrite the harmony of one chord span;
// Line techniques move melody notes in time; LeftHand and RightHand techniques
// offer Figures for a Cell, and the search in arrange picks among them; Ornament
// techniques act on the finished page. Techniques propose, the search decides:
// nothing here knows what else is on offer.
package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// Stage is the moment in which a technique acts.
type Stage uint8

// The stages, in their order.
const (
	Device Stage = iota + 1
	Line
	LeftHand
	RightHand
	Ornament
)

var stages = [...]string{Device: "harmony", Line: "rhythm of the tune", LeftHand: "left hand", RightHand: "right hand", Ornament: "ornament"}

// String names the stage as a teacher would.
func (s Stage) String() string { return stages[s] }

// Technique is one named thing that a player learns. What it is called and how it
// is taught stands under its id in the messages of package words.
type Technique struct {
	ID    string // stable, lower case with hyphens; the name in level files and accounts
	Stage Stage
	// Defines is set where its level is there to teach it: a page without it says
	// so.
	Defines bool
	Needs   []string // ids of techniques, or plain skills, that come before it

	// Exactly one of these is set, one of its Stage. A device either rewrites a
	// span with other chords or paints each chord with more notes.
	Rewrite func(Passage) []Rewrite
	Paint   func(Toned) []Tint
	Shift   func(Tune, int) (theory.Dur, bool)
	Left    func(Cell) []Figure
	Right   func(Cell) []Figure
	Adorn   func(Spot) []Figure

	// Recognise finds the technique on any page of two staves, whoever wrote it, by
	// what the hands do. It is linear in the notes and never asks why one is there;
	// the same notes may show several techniques at once.
	Recognise func(*sight.Page) []Finding

	Also   []string // ids of what its notes show too, by what they are
	Unseen string   // why its recogniser does well not to see it everywhere; "": it sees it

	// Adds tells, of a paint that a chord shows by itself, whether it is what adds a
	// degree to a chord.
	Adds func(theory.Chord, theory.Degree) bool
	// Retell says again what a paint has left in a chord that lost some of it, on its
	// way to the next; nil: what was said stays true.
	Retell func(ch theory.Chord, left []theory.Degree, next theory.Chord) reason.Reason
	Plain  bool  // leaves of each chord its nearest triad
	Delays bool  // what it holds back has to be heard, and to fall into the next chord
	Varies bool  // offers something else where a cell of the tune returns
	Closes bool  // belongs to the end of the piece
	Joins  bool  // belongs to the end of a phrase, and leads to the next
	Sings  bool  // moves with the tune and has no rhythm of its own
	Shell  bool  // says a chord in two notes
	Tenor  bool  // is a tune of its own, which belongs to its phrase and fills no bar elsewhere
	Leads  bool  // belongs where one section leads to another, or to the climax
	Under  Under // what of the tune it goes along with
	Grand  bool  // belongs to a section's last return before all else that its hand may do
	Rests  bool  // holds one chord to the end: it can end any piece

	Drill Drill
	// Follow names the voice that a device is about, chord by chord, for the drill.
	Follow func(theory.Key, []theory.Chord) []Voice
	Beside bool    // its drill plays the sheet's own chord before it
	Scale  OnScale // how an ornament is practised on a scale
}

// Under is what of the tune a technique of the right hand goes along with.
type Under uint8

// What a right hand goes along with.
const (
	UnderStrong Under = iota // where a chord begins, or a strong beat
	UnderLong                // long notes
	UnderAll                 // every note
)

// All returns the table of techniques, in teaching order.
func All() []*Technique { return table }

// ByID returns a technique.
func ByID(id string) (*Technique, bool) {
	for _, t := range table {
		if t.ID == id {
			return t, true
		}
	}
	return nil, false
}

// Resting returns the technique that can end any piece.
func Resting() *Technique {
	for _, t := range table {
		if t.Rests {
			return t
		}
	}
	panic("technique: none can end a piece")
}
