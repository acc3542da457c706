package hand

import "gradatim/score"

// pairSpan gives what a pair of fingers of the right hand spans, ascending, in
// twelfths of an octave: the limits of what can be done at all (Prac), of what
// is comfortable (Comf) and of what is relaxed (Rel). Negative: the fingers
// cross, which only the thumb does.
type pairSpan struct {
	MinPrac, MinComf, MinRel, MaxRel, MaxComf, MaxPrac int
}

// pairSpans is the table of Parncutt, Sloboda, Clarke, Raekallio and Desain
// (1997) as the fingering literature reprints it; reprints differ on
// MaxRel of 1–5 (10 or 11; 10 is used). Indexed by lower and higher finger.
var pairSpans = [6][6]pairSpan{
	1: {
		2: {-5, -3, 1, 5, 8, 10},
		3: {-4, -2, 3, 7, 10, 12},
		4: {-3, -1, 5, 9, 12, 14},
		5: {-1, 1, 7, 10, 13, 15},
	},
	2: {
		3: {1, 1, 1, 2, 3, 5},
		4: {1, 1, 3, 4, 5, 7},
		5: {2, 2, 5, 6, 8, 10},
	},
	3: {
		4: {1, 1, 1, 2, 2, 4},
		5: {1, 1, 3, 4, 5, 7},
	},
	4: {
		5: {1, 1, 1, 2, 3, 5},
	},
}

// modelSpan is the hand that the table of finger pairs describes: 8.3 inches.
const modelSpan = Inch * 83 / 10

// pairReach returns the largest distance that two fingers (f < g) of a hand
// span. The table scales with the hand and, its unit being rounded twelfths,
// holds half a unit more; thumb and little finger are what was measured.
func (p Profile) pairReach(h score.Hand, f, g int) Length {
	if f == 1 && g == 5 {
		return p.Reach(h)
	}
	units := Length(2*pairSpans[f][g].MaxPrac) * p.Span(h)
	// (MaxPrac · span/model + ½) twelfths of an octave.
	return (units + modelSpan) * Octave / (24 * modelSpan)
}

// pairComfort is pairReach for what is comfortable.
func (p Profile) pairComfort(h score.Hand, f, g int) Length {
	if f == 1 && g == 5 {
		return p.EasyReach(h)
	}
	units := Length(2*pairSpans[f][g].MaxComf) * p.Span(h)
	return (units + modelSpan) * Octave / (24 * modelSpan)
}
