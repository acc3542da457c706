package technique

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// extensions adds 9ths, 11ths and 13ths that belong to the chord's scale.
var extensions = &Technique{
	ID: "extensions", Stage: Device,
	Needs:     []string{"seventh-chords"},
	Paint:     func(t Toned) []Tint { return tensed(t, naturalSets) },
	Recognise: func(page *sight.Page) []Finding { return recogniseDegrees(page, deg9, deg11, deg13) },
	Adds:      func(_ theory.Chord, d degree) bool { return d.Number > 7 && d.Alter == 0 },
	Retell:    ColourWhy,
	Drill:     ColouredCadence,
}

// naturalSets lists the extension sets to try, by what the chord is.
func naturalSets(t Toned, ch theory.Chord) [][]theory.Degree {
	switch t.Passage.Usage.Palette {
	case Sevenths:
		return nil
	case Ninths:
		if ch.Dominant() && !isSus(ch) && t.leadsOn() {
			return [][]theory.Degree{{deg9}}
		}
		return nil
	}
	switch {
	case isSus(ch) && ch.Tones.Has(degB7):
		return [][]theory.Degree{{deg9}, {deg9, deg13}}
	case ch.Dominant():
		if deg, alter := t.Passage.Span.Key.Degree(ch.Root); deg == 1 && alter == 0 && t.Passage.Usage.FreeDominants {
			return [][]theory.Degree{{deg9, deg13}, {deg9}}
		}
		return [][]theory.Degree{{deg9}, {deg9, deg13}}
	case ch.Diminished():
		if ch.Tones.Has(degB7) {
			return [][]theory.Degree{{deg11}}
		}
		return nil
	case ch.MinorThird() && ch.Tones.Has(deg6):
		return [][]theory.Degree{{deg9}}
	case ch.MinorThird():
		if t.Passage.Manner.Colours == TwoColours {
			return [][]theory.Degree{{deg9, deg11}, {deg9}}
		}
		return [][]theory.Degree{{deg9}, {deg9, deg11}, {deg11}}
	case ch.Tones.Has(deg6):
		return [][]theory.Degree{{deg9}}
	case ch.Tones.Has(deg7):
		return [][]theory.Degree{{deg9}, {deg9, deg13}}
	}
	return nil
}

// alteredSets lists the alterations to try on a dominant, by its target: ♭9 and
// ♭13 before a minor chord, 13(♭9) or ♯5 as a colour before a major one, ♯11
// where it does not fall a fifth.
func alteredSets(t Toned, ch theory.Chord) [][]theory.Degree {
	if !ch.Dominant() || isSus(ch) {
		return nil
	}
	next := t.Next
	falls := !next.Silent() && (next.Root.Class()-ch.Root.Class()+12)%12 == 5
	steps := !next.Silent() && (ch.Root.Class()-next.Root.Class()+12)%12 == 1
	switch {
	case falls && (next.MinorThird() || t.Passage.Usage.FreeDominants && next.Dominant() && sixthOrThird(t)):
		if t.Passage.Usage.FreeDominants && next.Dominant() {
			return [][]theory.Degree{{degS9, degB13}, {degB9, degB13}, {degB9}}
		}
		if t.Passage.Manner.Colours == TwoColours {
			return [][]theory.Degree{{degB9, degB13}, {degB9}, {degS9, degB13}}
		}
		return [][]theory.Degree{{degB9}, {degB9, degB13}, {degS9, degB13}}
	case falls:
		return [][]theory.Degree{{degB9, deg13}, {degB9}}
	case steps:
		return [][]theory.Degree{{deg9, degS11}, {deg9}}
	}
	if t.Passage.Span.Key.Contains(ch.Root) { // a dominant of the scale that goes elsewhere stays plain
		return nil
	}
	return [][]theory.Degree{{deg9, degS11}}
}

// styled tells whether a jazzy style lets a dominant on the 6th or 3rd degree
// take ♯9 and ♭13 although its target is itself a dominant.
func styled(t Toned, ch theory.Chord) bool {
	return t.Passage.Usage.FreeDominants && ch.Dominant() && t.Next.Dominant() && sixthOrThird(t)
}

// sixthOrThird tells whether the chord stands on the 6th, 3rd or 2nd degree of
// the key, where a dominant leans towards a minor chord by habit.
func sixthOrThird(t Toned) bool {
	deg, alter := t.Passage.Span.Key.Degree(t.Chord.Root)
	return alter == 0 && (deg == 6 || deg == 3)
}

// tensed colours each seventh chord with the sets that its function, its target
// and the tune allow.
func tensed(t Toned, sets func(Toned, theory.Chord) [][]theory.Degree) []Tint {
	bar := t.Passage.Song.Bars[t.Passage.Song.BarAt(t.At)]
	if t.End-t.At < bar.Meter.BeatDur() {
		return nil
	}
	var names []theory.Name
	for _, m := range melodyIn(t.Passage.Song, t.At, t.End) {
		names = append(names, m.Pitch.Name)
	}
	var out []Tint
	for i, s := range sevenths(t) {
		span := t.Passage.Span
		span.Chord = s.chord
		r := harmony.Read(span.Key, t.Passage.Prev.Chord, s.chord, t.Next)
		span.Function, span.Target, span.Resolves = r.Function, r.Target, r.Resolves
		next := t.Passage.Next
		next.Chord, next.Silent, next.Unknown = t.Next, t.Next.Silent(), false
		colour := harmony.Tensions(span, next, names)
		for k, set := range sets(t, s.chord) {
			ch, heard, ok := withTensions(s.chord, set, colour, styled(t, s.chord))
			if !ok {
				continue
			}
			fit := harmony.Fits(t.Passage.Song, ch, t.At, t.End)
			if fit.Verdict == harmony.Refused {
				continue
			}
			cost := 4*i + 2*k + fit.Cost/4 - 3*heard
			if set[0].Alter != 0 && styled(t, s.chord) {
				cost--
			}
			if t.Passage.Manner.Colours >= MoreColours {
				cost -= len(set)
			}
			out = append(out, Tint{Chord: ch, Cost: cost, Why: ColourWhy(ch, set, t.Next)})
		}
	}
	return out
}

// withTensions adds a set to a chord; heard counts those that the tune has
// itself. ok is false where a rule or the tune forbids one of them.
func withTensions(ch theory.Chord, set []theory.Degree, colour harmony.Colour, free bool) (_ theory.Chord, heard int, ok bool) {
	for _, d := range set {
		for _, u := range colour.Tensions {
			if u.Degree == d && u.InMelody {
				heard++
			}
		}
		if u := colour.Use(d); free && d.Alter != 0 {
			// the style's own habit; the tune still has its say below
		} else if u == harmony.Avoid || u == harmony.Conditional && (d == deg11 || d == deg13 && !ch.Dominant()) {
			return ch, 0, false
		}
		ch.Tones = ch.Tones.With(d)
	}
	for i, a := range set {
		for _, b := range set[i+1:] {
			if harmony.Worst(a, b, 0) == harmony.Hard {
				return ch, 0, false
			}
		}
	}
	return ch, heard, true
}

// ColourWhy says what the colours of a chord are, and where a ♭9 leans.
func ColourWhy(ch theory.Chord, set []theory.Degree, next theory.Chord) reason.Reason {
	out := reason.Colours(ch.Root, set)
	if ch.Dominant() && !next.Silent() && slices.Contains(set, degB9) {
		out = reason.Together(out, reason.LeansTowards{Goal: next.Root})
	}
	return out
}

// recogniseDegrees finds chords with one of the degrees in their symbol, struck.
// An altered fifth counts on a dominant only.
func recogniseDegrees(page *sight.Page, ds ...theory.Degree) []Finding {
	var out []Finding
	for _, sp := range page.Spans() {
		ch := *sp.Chord()
		if _, seventh := ch.Seventh(); !seventh {
			continue
		}
		f := Finding{At: sp.At, End: sp.End, Detail: ch.Pretty()}
		for _, d := range ds {
			if !ch.Tones.Has(d) || d.Number == 5 && !ch.Dominant() {
				continue
			}
			f.Notes = append(f.Notes, page.StruckClass(sp.At, sp.End, d.On(ch.Root).Class())...)
		}
		if len(f.Notes) > 0 {
			out = append(out, f)
		}
	}
	return out
}
