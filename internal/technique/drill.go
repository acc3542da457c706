package technique

import (
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// Drill is a way to make an exercise of a technique out of a tune's own material.
type Drill uint8

// Drills.
const (
	NoDrill         Drill = iota
	Inversions            // each chord in root position and its inversions
	ColouredChords        // chords as on the sheet, then as on the page
	ColouredCadence       // ii–V–I in the colours of the page
	GuideCadence          // ii–V–I, roots below, third and seventh above
	AlteredChords         // dominants plain, altered, resolved
	ChangedChords         // what a device does on the page, with where it leads
	ChordBasses           // the bass notes of a phrase's chords
	BassAlone             // the bass line of a phrase alone
	OnOneChord            // the left-hand figure on one chord
	AroundChords          // the figure on the tune's chords, one a bar
	FigureCadence         // the figure on ii–V–I
	OwnBars               // the figure in the page's own bars
	RolledTenths          // rolled tenths on the tune's chords
	LastChords            // the last chord in several places
	RhythmTap             // the pushed rhythm on one note
	GuideLine             // ii–V–I with third and seventh in the right hand
	FullCadence           // ii–V–I with all the right hand can hold
	PairedScale           // a scale in thirds and sixths
	BlockScale            // a scale in block chords
	OctaveScale           // a scale in octaves
	OrnamentedScale       // the ornament on the notes of a scale
	QuickLines            // the page's runs and fills, split into hand positions
	FromThePage           // the hand alone in bars of the page
	lastDrill       = FromThePage
)

// Drills lists them all.
func Drills() []Drill {
	var out []Drill
	for d := NoDrill + 1; d <= lastDrill; d++ {
		out = append(out, d)
	}
	return out
}

// Voice is where a voice is under one chord; the zero Voice: not there.
type Voice struct {
	Name theory.Name
	In   bool
}

// OnScale is how a technique is practised on the first notes of a scale, up and back.
type OnScale struct {
	Put  func(ScaleNote) (Adorned, bool) // false where the note has no room for it
	Wide bool                            // each note needs a bar of its own
	From int                             // lowest key of the tonic
	Ends bool                            // the tonic comes twice at both ends
}

// Adorned is a note as it is played with an ornament: what becomes of it, what is
// added, and why.
type Adorned struct {
	Note  Tone
	Added []Tone
	Why   reason.Reason
	Chord theory.Chord // that it stands under; zero: none
}

// ScaleNote is a note of the scale.
type ScaleNote struct {
	Key   theory.Key
	Meter leadsheet.Meter
	Note  Tone
	Back  bool // on the way back
}
