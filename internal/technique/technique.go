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

	Drill DrillKind // the exercise that the lesson makes for it
}

// DrillKind is a way to make an exercise out of a tune's own material.
type DrillKind uint8

// Drills.
const (
	NoDrill       DrillKind = iota
	OnOneChord              // the left-hand figure on the tonic chord
	AroundChords            // the figure on the tune's chords, one a bar
	ChordShapes             // the chord shapes and their inversions
	TwoFiveOne              // ii–V–I in the tune's key
	BassAlone               // the bass line of a phrase alone
	RhythmTap               // the pushed rhythm on one note
	OrnamentDrill           // the ornament on the held notes of a scale
	RunDrill                // the run, split into hand positions
	RollDrill               // rolled tenths on the tune's chords
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
