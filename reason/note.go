package reason

import "gradatim/theory"

// Reasons of single notes.

// Sounds names a note, to be followed by what it does.
type Sounds struct {
	kind
	Note theory.Name
}

// IsDegree tells which degree of a chord a note is.
type IsDegree struct {
	kind
	Note   theory.Name
	Degree theory.Degree
	Chord  theory.Chord
}

// Over tells of a note that is foreign to the chord under it.
type Over struct {
	kind
	Note  theory.Name
	Chord theory.Chord
}

// PlaysRole tells what a note that is foreign to the chord under it does there.
type PlaysRole struct {
	kind
	Note  theory.Name
	Role  Role
	Chord theory.Chord
}

// Role is the field's name of what a note of a tune is to its chord: "passing
// tone".
type Role string

// Technique is the id of a technique, to be called by its name.
type Technique string

// Signature is a key signature: so many sharps, or so many flats below 0.
type Signature int
