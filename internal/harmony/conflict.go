package harmony

import "gradatim/theory"

// Severity of a clash between two degrees of one chord.
type Severity uint8

// Severities.
const (
	Fine Severity = iota + 1 // looks like a clash and is none
	Soft                     // costs
	Hard                     // never
)

// Clash is a pair of degrees that cannot simply stand together.
type Clash struct {
	A, B     theory.Degree
	Severity Severity
	Only     Spacing
	Way      string // what to do
}

// Spacing limits a clash to one way of laying the two notes out.
type Spacing uint8

// Spacings. AnyLayout limits nothing.
const (
	AnyLayout    Spacing = iota
	MinorNinth           // A below B by thirteen semitones (or that plus octaves)
	WithinOctave         // less than an octave apart
	HalfStep             // adjacent
)

// clashes: common practice; 11 against 3, the minor ninth and the root over a
// major seventh also in Pease & Pullig, Modern Jazz Voicings (excerpt).
var clashes = []Clash{
	{dg(11, 0), dg(3, 0), Hard, AnyLayout, "replace 3 by 4, or raise to #11; a plain V with an added 4 keeps both, adjacent"},
	{dg(9, -1), dg(9, 0), Hard, AnyLayout, "choose by the melody, then by the target: b9 for minor, 9 for major"},
	{dg(9, 1), dg(9, 0), Hard, AnyLayout, "choose one"},
	{dg(9, -1), dg(9, 1), Fine, AnyLayout, "both belong to an altered dominant"},
	{dg(13, 0), dg(13, -1), Hard, AnyLayout, "choose one"},
	{dg(13, 0), dg(5, 1), Hard, AnyLayout, "choose one"},
	{dg(13, -1), dg(5, 0), Hard, WithinOctave, "drop the 5, or keep it a major seventh below"},
	{dg(5, 1), dg(5, 0), Hard, WithinOctave, "drop the 5"},
	{dg(11, 1), dg(5, 0), Hard, MinorNinth, "the 5 goes below #11"},
	{dg(11, 1), dg(5, 0), Soft, AnyLayout, "drop the 5, or put it a major seventh below"},
	{dg(5, -1), dg(5, 0), Hard, AnyLayout, "drop the natural 5"},
	{dg(7, 0), dg(1, 0), Hard, MinorNinth, "use 6 or 6/9 under the root"},
	{dg(7, 0), dg(1, 0), Soft, HalfStep, "use 6 or 6/9 under the root"},
	{dg(13, 0), dg(7, -1), Hard, MinorNinth, "b7 goes below 13"},
	{dg(13, 0), dg(7, -1), Soft, HalfStep, "b7 goes below 13, a major seventh"},
	{dg(6, 0), dg(7, -1), Soft, HalfStep, "as 13 over b7, not adjacent low down"},
	{dg(1, 0), dg(9, -1), Fine, MinorNinth, "the one minor ninth that a dominant allows"},
	{dg(3, -1), dg(11, 0), Fine, AnyLayout, "a whole step apart"},
	{dg(7, 0), dg(7, -1), Hard, AnyLayout, "choose one"},
	{dg(9, 1), dg(3, 0), Hard, MinorNinth, "#9 goes above 3, a major seventh"},
	{dg(9, 1), dg(3, 0), Soft, HalfStep, "#9 goes above 3, a major seventh"},
}

func dg(number, alter int8) theory.Degree { return theory.Degree{Number: number, Alter: alter} }

// Clashes returns the rules about two degrees, in either order.
func Clashes(a, b theory.Degree) []Clash {
	var out []Clash
	for _, c := range clashes {
		if c.A == a && c.B == b || c.A == b && c.B == a {
			out = append(out, c)
		}
	}
	return out
}

// Worst returns how bad it is to sound two degrees of a chord together. distance
// is in semitones from a up to b, negative where b is the lower. Zero: no rule.
func Worst(a, b theory.Degree, distance int) Severity {
	var worst Severity
	for _, c := range clashes {
		d := distance
		switch {
		case c.A == a && c.B == b:
		case c.A == b && c.B == a:
			d = -distance
		default:
			continue
		}
		if c.Only.holds(d) {
			worst = max(worst, c.Severity)
		}
	}
	return worst
}

func (s Spacing) holds(d int) bool {
	switch s {
	case MinorNinth:
		return d >= 13 && d%12 == 1
	case WithinOctave:
		return d > -12 && d < 12
	case HalfStep:
		return d == 1 || d == -1
	}
	return true
}

// Resolution says where a degree of a dominant goes when its root falls a fifth.
type Resolution struct {
	From   theory.Degree
	To     []theory.Degree // degrees of the chord that it resolves to, best first
	Target string          // "major", "minor", "either"
	Way    string
}

// resolutions: common practice, no source.
var resolutions = []Resolution{
	{dg(9, 0), []theory.Degree{dg(5, 0)}, "major", "down a step"},
	{dg(9, -1), []theory.Degree{dg(5, 0)}, "either", "down a half step"},
	{dg(9, 1), []theory.Degree{dg(5, 0), dg(9, 0), dg(6, 0)}, "minor", "through b9 to 5, or to 9 or 6"},
	{dg(11, 1), []theory.Degree{dg(1, 0), dg(9, 0)}, "either", "down or up a half step"},
	{dg(5, -1), []theory.Degree{dg(1, 0), dg(9, 0)}, "either", "down a half step"},
	{dg(13, 0), []theory.Degree{dg(3, 0), dg(9, 0)}, "major", "held as 3, or down a step to 9"},
	{dg(13, -1), []theory.Degree{dg(9, 0), dg(3, 0)}, "either", "down a half step to 9, or up to 3"},
	{dg(5, 1), []theory.Degree{dg(3, 0), dg(9, 0)}, "either", "up a half step to 3"},
	{dg(7, -1), []theory.Degree{dg(3, 0)}, "either", "down a step; a half step in major"},
	{dg(3, 0), []theory.Degree{dg(1, 0), dg(7, 0)}, "either", "up a half step, or held as 7"},
	{dg(4, 0), []theory.Degree{dg(1, 0), dg(7, 0)}, "either", "first to the 3 of its own chord, then on"},
}

// Resolve returns where a degree of a dominant goes; ok is false for a degree
// that has no tendency.
func Resolve(d theory.Degree) (r Resolution, ok bool) {
	for _, r := range resolutions {
		if r.From == d {
			return r, true
		}
	}
	return Resolution{}, false
}
