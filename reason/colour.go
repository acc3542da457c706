package reason

import "gradatim/theory"

// Reasons of the notes that a chord has beyond the sheet's.

// IsThe tells what a note is to its chord; As is a Fact: "seventh".
type IsThe struct {
	kind
	Note theory.Name
	As   Reason
}

// AddedSecond tells of a whole step above the root.
type AddedSecond struct {
	kind
	Note theory.Name
}

// AddedFourth tells of a whole step above a minor third.
type AddedFourth struct {
	kind
	Note theory.Name
}

// AddedBeside tells of a note that rubs against the third.
type AddedBeside struct {
	kind
	Note theory.Name
}

// ColourIs tells which tension a note is.
type ColourIs struct {
	kind
	Note   theory.Name
	Degree theory.Degree
}

// LeansTowards tells where a flat ninth wants to go.
type LeansTowards struct {
	kind
	Goal theory.Name
}

// Colours tells of the tensions of a chord, lowest first.
func Colours(root theory.Name, set []theory.Degree) Reason {
	var out Reason
	for _, d := range set {
		out = Together(out, ColourIs{Note: d.On(root), Degree: d})
	}
	return out
}
