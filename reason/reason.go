// Package reason says why a note, a chord or a style is there, as values: a kind
// with its musical parts, perhaps made of other reasons. It holds no words: what a
// reason is called in a language is decided last, elsewhere.
//
// Reasons are comparable with ==: equal kinds with equal parts are equal. A nil
// Reason is none.
package reason

// Reason is one of the kinds of this package. The set is closed; Kinds lists it.
type Reason interface{ reason() }

// kind marks a type as a Reason.
type kind struct{}

func (kind) reason() {}

// Fact is a reason without parts, named by its key: "teachers-choice".
type Fact string

func (Fact) reason() {}

// And tells one reason after another, each a clause of its own.
type And struct {
	kind
	First, Then Reason
}

// With tells two reasons in one clause.
type With struct {
	kind
	First, Then Reason
}

// Because tells what something is, and then why.
type Because struct {
	kind
	What, Why Reason
}

// Clauses joins reasons, each a clause of its own; none is left out. It returns
// nil where there is none at all.
func Clauses(rs ...Reason) Reason {
	return join(rs, func(a, b Reason) Reason { return And{First: a, Then: b} })
}

// Together joins reasons in one clause.
func Together(rs ...Reason) Reason {
	return join(rs, func(a, b Reason) Reason { return With{First: a, Then: b} })
}

func join(rs []Reason, with func(a, b Reason) Reason) Reason {
	var out Reason
	for _, r := range rs {
		switch {
		case r == nil:
		case out == nil:
			out = r
		default:
			out = with(out, r)
		}
	}
	return out
}

// Split returns the clauses that Clauses joined, in order.
func Split(r Reason) []Reason {
	switch r := r.(type) {
	case nil:
		return nil
	case And:
		return append(Split(r.First), Split(r.Then)...)
	}
	return []Reason{r}
}

// CutMelody divides the reason for a chord into what it says of the chord and what
// it says of the tune's note over it; either may be nil.
func CutMelody(r Reason) (chord, melody Reason) {
	for _, c := range Split(r) {
		if _, ok := c.(MelodyIs); ok {
			melody = Clauses(melody, c)
		} else {
			chord = Clauses(chord, c)
		}
	}
	return chord, melody
}

// Kinds returns one value of every kind, without parts, for who has to know them
// all.
func Kinds() []Reason {
	return []Reason{
		Fact(""), And{}, With{}, Because{},
		Sounds{}, IsDegree{}, Over{}, PlaysRole{},
		LeadsTo{}, FallsTo{}, BassSteps{}, MelodyIs{},
		DominantOf{}, SubstituteFor{}, HalfStepAbove{}, Rootless{}, StandsFor{}, Between{},
		StaysInBass{}, StaysAsPedal{}, BassClimbs{}, BassDescends{}, BorrowedThird{}, BorrowedFifth{}, StepBelow{}, FallsFifth{},
		StyleDominant{}, KeysDominant{}, InPlaceOf{}, SharesTwo{}, Delays{}, Resolves{}, BothStay{},
		IsThe{}, AddedSecond{}, AddedFourth{}, AddedBeside{}, ColourIs{}, LeansTowards{},
		Figure(""), Then{}, Approach{}, Encloses{}, Answers{}, Lands{}, TriadOver{},
		SheetCalls{}, TitleSays{},
	}
}
