package reason

import "gradatim/theory"

// Reasons of what a hand plays.

// Figure is what a hand plays, without parts: the id of a technique and, after a
// point, the form of it: "broken-triad.slow".
type Figure string

func (Figure) reason() {}

// Then is a figure that is told together with another reason: with what follows it,
// or with what it is made of.
type Then struct {
	kind
	Figure Figure
	Next   Reason
}

// Approach is how a line comes to its next target.
type Approach struct {
	kind
	From Way
	Goal theory.Name
}

// Way is where an approach comes from.
type Way string

// Ways.
const (
	HalfAbove Way = "half-step-above"
	HalfBelow Way = "half-step-below"
	ScaleDown Way = "scale-down"
	ScaleUp   Way = "scale-up"
	Fifth     Way = "fifth"
)

// Encloses names the note that its neighbours surround.
type Encloses struct {
	kind
	Note theory.Name
}

// Answers names the note of the tune to which a fill leads.
type Answers struct {
	kind
	Goal theory.Name
}

// Lands tells on which degree of a chord a run lands; the zero Degree is none of
// its tones.
type Lands struct {
	kind
	Note   theory.Name
	Degree theory.Degree
	Chord  theory.Chord
}

// TriadOver tells of a plain triad above a dominant.
type TriadOver struct {
	kind
	Triad, Chord theory.Chord
}
