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

// clash is a pair of degrees that cannot simply stand together.
type clash struct {
	a, b     theory.Degree
	severity Severity
	only     spacing
}

// spacing limits a clash to one way of laying the two notes out.
type spacing uint8

const (
	anyLayout    spacing = iota
	minorNinth           // a below b by thirteen semitones (or that plus octaves)
	withinOctave         // less than an octave apart
	halfStep             // adjacent
)

// clashes: common practice; 11 against 3, the minor ninth and the root over a
// major seventh also in Pease & Pullig, Modern Jazz Voicings (excerpt).
var clashes = []clash{
	{dg(11, 0), dg(3, 0), Hard, anyLayout},     // replace 3 by 4, or raise to #11; a plain V with an added 4 keeps both, adjacent
	{dg(9, -1), dg(9, 0), Hard, anyLayout},     // choose by the melody, then by the target: b9 for minor, 9 for major
	{dg(9, 1), dg(9, 0), Hard, anyLayout},      // choose one
	{dg(9, -1), dg(9, 1), Fine, anyLayout},     // both belong to an altered dominant
	{dg(13, 0), dg(13, -1), Hard, anyLayout},   // choose one
	{dg(13, 0), dg(5, 1), Hard, anyLayout},     // choose one
	{dg(13, -1), dg(5, 0), Hard, withinOctave}, // drop the 5, or keep it a major seventh below
	{dg(5, 1), dg(5, 0), Hard, withinOctave},   // drop the 5
	{dg(11, 1), dg(5, 0), Hard, minorNinth},    // the 5 goes below #11
	{dg(11, 1), dg(5, 0), Soft, anyLayout},     // drop the 5, or put it a major seventh below
	{dg(5, -1), dg(5, 0), Hard, anyLayout},     // drop the natural 5
	{dg(7, 0), dg(1, 0), Hard, minorNinth},     // use 6 or 6/9 under the root
	{dg(7, 0), dg(1, 0), Soft, halfStep},       // use 6 or 6/9 under the root
	{dg(13, 0), dg(7, -1), Hard, minorNinth},   // b7 goes below 13
	{dg(13, 0), dg(7, -1), Soft, halfStep},     // b7 goes below 13, a major seventh
	{dg(6, 0), dg(7, -1), Soft, halfStep},      // as 13 over b7, not adjacent low down
	{dg(1, 0), dg(9, -1), Fine, minorNinth},    // the one minor ninth that a dominant allows
	{dg(3, -1), dg(11, 0), Fine, anyLayout},    // a whole step apart
	{dg(7, 0), dg(7, -1), Hard, anyLayout},     // choose one
	{dg(9, 1), dg(3, 0), Hard, minorNinth},     // #9 goes above 3, a major seventh
	{dg(9, 1), dg(3, 0), Soft, halfStep},       // #9 goes above 3, a major seventh
}

func dg(number, alter int8) theory.Degree { return theory.Degree{Number: number, Alter: alter} }

// Worst returns how bad it is to sound two degrees of a chord together. distance
// is in semitones from a up to b, negative where b is the lower. Zero: no rule.
func Worst(a, b theory.Degree, distance int) Severity {
	var worst Severity
	for _, c := range clashes {
		d := distance
		switch {
		case c.a == a && c.b == b:
		case c.a == b && c.b == a:
			d = -distance
		default:
			continue
		}
		if c.only.holds(d) {
			worst = max(worst, c.severity)
		}
	}
	return worst
}

func (s spacing) holds(d int) bool {
	switch s {
	case minorNinth:
		return d >= 13 && d%12 == 1
	case withinOctave:
		return d > -12 && d < 12
	case halfStep:
		return d == 1 || d == -1
	}
	return true
}
