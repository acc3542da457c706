package musicxml

import (
	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// kindRow is one kind and its notes.
type kindRow struct {
	kind  string
	tones theory.Degrees
	write bool // a kind of the standard with fixed notes: the writer may use it
}

// kindRows gives every kind that stands for fixed notes, in the order of the
// standard; the order breaks ties in kindOf. Source: MusicXML 4.0 XSD, simple
// type kind-value. The rows that are not written are no kinds of the standard
// but occur in files (seen in the OpenEWLD set).
//
// Neapolitan, Italian, French, German and Tristan have no row: the standard
// gives them no notes, and files disagree whether their root is the chord's or
// the key's.
var kindRows = []kindRow{
	{"major", tonesOf("1 3 5"), true},
	{"minor", tonesOf("1 b3 5"), true},
	{"augmented", tonesOf("1 3 #5"), true},
	{"diminished", tonesOf("1 b3 b5"), true},
	{"dominant", tonesOf("1 3 5 b7"), true},
	{"major-seventh", tonesOf("1 3 5 7"), true},
	{"minor-seventh", tonesOf("1 b3 5 b7"), true},
	{"diminished-seventh", tonesOf("1 b3 b5 bb7"), true},
	{"augmented-seventh", tonesOf("1 3 #5 b7"), true},
	{"half-diminished", tonesOf("1 b3 b5 b7"), true},
	{"major-minor", tonesOf("1 b3 5 7"), true},
	{"major-sixth", tonesOf("1 3 5 6"), true},
	{"minor-sixth", tonesOf("1 b3 5 6"), true},
	{"dominant-ninth", tonesOf("1 3 5 b7 9"), true},
	{"major-ninth", tonesOf("1 3 5 7 9"), true},
	{"minor-ninth", tonesOf("1 b3 5 b7 9"), true},
	{"dominant-11th", tonesOf("1 3 5 b7 9 11"), true},
	{"major-11th", tonesOf("1 3 5 7 9 11"), true},
	{"minor-11th", tonesOf("1 b3 5 b7 9 11"), true},
	{"dominant-13th", tonesOf("1 3 5 b7 9 11 13"), true},
	{"major-13th", tonesOf("1 3 5 7 9 11 13"), true},
	{"minor-13th", tonesOf("1 b3 5 b7 9 11 13"), true},
	{"suspended-second", tonesOf("1 2 5"), true},
	{"suspended-fourth", tonesOf("1 4 5"), true},
	{"pedal", tonesOf("1"), true},
	{"power", tonesOf("1 5"), true},
	{"augmented-ninth", tonesOf("1 3 #5 b7 9"), false},
	{"minor-major", tonesOf("1 b3 5 7"), false},
	{"maj69", tonesOf("1 3 5 6 9"), false},
}

// tonesOf reads a list of degrees that stands in this file.
func tonesOf(s string) theory.Degrees {
	d, err := theory.ParseDegrees(s)
	if err != nil {
		panic(err)
	}
	return d
}

// elevenths are the kinds whose literal stack holds a natural 11th beside the
// major 3rd. A chart that says 13 leaves the 11th out (common practice, no
// source), so the 11th counts only where a degree asks for it.
func elevenths(kind string) bool { return kind == "dominant-13th" || kind == "major-13th" }

var natural11 = theory.Degree{Number: 11}

// kindTones returns the notes of a kind with its degrees. known is false where
// the kind has no fixed notes, or is "other" without an added degree. The
// cautions say, in plain words, what was not taken as written.
//
// An "add" is counted from a dominant chord (major and perfect intervals, but a
// minor seventh), an "alter" from the chord's own degree (MusicXML 4.0 XSD,
// type degree-alter). An alter of a degree that the chord does not have is
// taken as an add: files use both for ♭9 and ♯11.
func kindTones(kind string, changes []markup.Degree) (tones theory.Degrees, known bool, cautions []any) {
	if kind == "other" {
		tones = tonesOf("1")
		for _, c := range changes {
			known = known || c.Type == "add"
		}
	}
	standard := kind == "other"
	for _, r := range kindRows {
		if r.kind == kind {
			tones, known, standard = r.tones, true, r.write
			break
		}
	}
	if !known {
		return theory.Degrees{}, false, nil
	}
	if !standard {
		cautions = append(cautions, tell("chord-caution.kind", "Kind", leadsheet.Quoted(kind), "Read", tones.String()))
	}
	base := tones
	var adds []theory.Degree
	for _, c := range changes {
		n, ok := degreeNumber(c.Value)
		if !ok {
			cautions = append(cautions, tell("chord-caution.degree", "Number", c.Value))
			continue
		}
		have := base.Number(n)
		switch {
		case c.Type == "subtract":
			for _, d := range have {
				tones = tones.Without(d)
			}
			if len(have) == 0 {
				cautions = append(cautions, tell("chord-caution.taken-out", "Number", n))
			}
		case c.Type == "alter" && len(have) == 1:
			d := theory.Degree{Number: int8(n), Alter: int8(int(have[0].Alter) + clampAlter(c.Alter))}
			if d.Alter < -1 || d.Alter > 1 {
				cautions = append(cautions, tell("chord-caution.twice", "Number", n, "Degree", have[0].String()))
				continue
			}
			tones = tones.Without(have[0]).With(d)
		case c.Type == "add", c.Type == "alter":
			alter := c.Alter
			if n == 7 {
				alter--
			}
			d := theory.Degree{Number: int8(n), Alter: int8(clampAlter(alter))}
			if c.Type == "alter" {
				cautions = append(cautions, tell("chord-caution.added", "Number", n, "Degree", d.String()))
			}
			adds = append(adds, d)
		default:
			cautions = append(cautions, tell("chord-caution.type", "Type", leadsheet.Quoted(c.Type)))
		}
	}
	if elevenths(kind) {
		tones = tones.Without(natural11)
	}
	for _, d := range adds {
		tones = tones.With(d)
	}
	if tones.Empty() {
		return theory.Degrees{}, false, cautions
	}
	return tones, true, cautions
}

// degreeNumber brings compound numbers that a chord does not count (8, 10, 12
// …) into the octave.
func degreeNumber(v int) (int, bool) {
	switch {
	case v >= 1 && v <= 7, v == 9, v == 11, v == 13:
		return v, true
	case v == 8 || v == 10 || v == 12 || v == 14:
		return v - 7, true
	case v == 15:
		return 1, true
	}
	return 0, false
}

func clampAlter(a int) int { return min(max(a, -2), 2) }

// kindOf returns the kind and the degrees that stand for a set of chord
// degrees: the exact inverse of kindTones. Where several kinds would do, the
// one with the cheapest changes is taken (an alteration or addition 2, a
// subtraction 3, the 11th of a 13th chord 1), the earliest row of equals. An
// empty set is "none".
func kindOf(tones theory.Degrees) (kind string, changes []markup.Degree) {
	if tones.Empty() {
		return "none", nil
	}
	best := dearest
	for _, r := range kindRows {
		if !r.write || elevenths(r.kind) && tones.Has(natural11) || r.kind == "pedal" && tones != r.tones {
			continue
		}
		if c, cost := changesBetween(r, tones, best); cost < best {
			kind, changes, best = r.kind, c, cost
		}
		if best == 0 {
			break // as most chords are; no later row is cheaper
		}
	}
	return kind, changes
}

// dearest is more than any changes cost.
const dearest = 1 << 20

// changesBetween are the changes that make a kind's degrees those of a chord, with what they
// cost; it ends early where that is not below most.
func changesBetween(r kindRow, tones theory.Degrees, most int) (changes []markup.Degree, cost int) {
	for n := 1; n <= 13 && cost < most; n++ {
		have, want := r.tones.Number(n), tones.Number(n)
		if len(have) == 1 && len(want) == 1 && have[0] != want[0] && want[0].Alter >= -1 && want[0].Alter <= 1 {
			changes = append(changes, markup.Degree{Value: n, Alter: int(want[0].Alter - have[0].Alter), Type: "alter"})
			cost += 2
			continue
		}
		keep := false
		for _, d := range have {
			keep = keep || tones.Has(d)
		}
		if len(have) > 0 && !keep {
			changes = append(changes, markup.Degree{Value: n, Type: "subtract"})
			if cost += 3; elevenths(r.kind) && n == 11 {
				cost -= 2
			}
		}
		for _, d := range want {
			if r.tones.Has(d) {
				continue
			}
			a := int(d.Alter)
			if n == 7 {
				a++
			}
			changes = append(changes, markup.Degree{Value: n, Alter: a, Type: "add"})
			cost += 2
		}
	}
	return changes, cost
}
