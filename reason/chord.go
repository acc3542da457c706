package reason

import "gradatim/theory"

// Reasons of chords, and of the steps by which they go on.

// LeadsTo tells of a third that rises into the next root.
type LeadsTo struct {
	kind
	From, To theory.Name
}

// FallsTo tells of a note that falls by step into the next chord.
type FallsTo struct {
	kind
	From, To theory.Name
}

// BassSteps tells of a bass that moves by step into the next chord.
type BassSteps struct {
	kind
	From, To theory.Name
}

// MelodyIs tells which degree of the chord the tune's note is.
type MelodyIs struct {
	kind
	Note   theory.Name
	Degree theory.Degree
}

// DominantOf names the degree to which a dominant belongs.
type DominantOf struct {
	kind
	Goal theory.Numeral
}

// SubstituteFor tells which dominant a substitute stands for, and the third and
// seventh that both have.
type SubstituteFor struct {
	kind
	Dominant       theory.Chord
	Third, Seventh theory.Name
}

// HalfStepAbove tells of a substitute dominant that slides into its goal.
type HalfStepAbove struct {
	kind
	Goal theory.Name
}

// Rootless tells of which dominant a diminished chord is the upper part.
type Rootless struct {
	kind
	Dominant theory.Chord
}

// StandsFor is the same, told after another reason.
type StandsFor struct {
	kind
	Dominant theory.Chord
}

// Between tells that a root lies between its neighbours'.
type Between struct {
	kind
	From, To theory.Name
}

// StaysInBass tells of a root that stays while the other voices leave and return.
type StaysInBass struct {
	kind
	Root theory.Name
}

// StaysAsPedal tells of a bass note that stays until the cadence.
type StaysAsPedal struct {
	kind
	Bass theory.Name
}

// BassClimbs tells of three basses that step upwards.
type BassClimbs struct {
	kind
	From, Via, To theory.Name
}

// BassDescends tells of three basses that step downwards.
type BassDescends struct {
	kind
	From, Via, To theory.Name
}

// BorrowedThird tells of a chord from the parallel minor by its third.
type BorrowedThird struct {
	kind
	Third theory.Name
}

// BorrowedFifth tells of a chord from the parallel minor by its fifth.
type BorrowedFifth struct {
	kind
	Fifth theory.Name
}

// StepBelow tells of a borrowed seventh chord a whole step below the tonic.
type StepBelow struct {
	kind
	Chord theory.Chord
	Tonic theory.Name
}

// FallsFifth tells of a root that falls a fifth.
type FallsFifth struct {
	kind
	From, To theory.Name
}

// StyleDominant tells of a dominant seventh that the style likes.
type StyleDominant struct {
	kind
	Root theory.Name
}

// KeysDominant tells of the seventh on the key's own dominant.
type KeysDominant struct {
	kind
	Root theory.Name
}

// InPlaceOf tells of a dominant that shares two notes with the sheet's chord.
type InPlaceOf struct {
	kind
	Chord, Sheet theory.Chord
}

// SharesTwo tells of a chord of the same function with two notes in common.
type SharesTwo struct {
	kind
	Chord, Sheet theory.Chord
}

// Delays tells of a fourth that stands in the third's place.
type Delays struct {
	kind
	Fourth, Third theory.Name
}

// Resolves tells of that fourth when it gives way.
type Resolves struct {
	kind
	Fourth, Third theory.Name
}

// BothStay tells of tonic and fifth that stay while the roots move.
type BothStay struct {
	kind
	Tonic, Fifth theory.Name
}
