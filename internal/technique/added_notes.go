package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// addedNotes is level 2's harmony: one more scale note in each triad.
var addedNotes = &Technique{
	ID: "added-notes", Stage: Device,
	Needs: []string{"plain-triads"},
	Paint: func(t Toned) []Tint {
		plain := Tint{Chord: asTriad(t), Cost: 12, Plain: true}
		if t.Device != "" && isSus(t.Chord) {
			return []Tint{{Chord: t.Chord.Triad(), Plain: true}}
		}
		if t.Device == suspendedDelay.ID { // the delayed 4th has to go
			return []Tint{{Chord: plainTriad(t.Chord), Plain: true}}
		}
		out := []Tint{plain}
		if t.stays() {
			return out
		}
		for i, d := range addable(t) {
			if clashes(t, d) || d == add4 && t.Chord.Tones.Has(deg3) && !suspends(t) {
				continue
			}
			ch := plainTriad(t.Chord)
			ch.Tones = ch.Tones.With(d)
			ch.Slash, ch.Bass = t.Chord.Slash, t.Chord.Bass
			out = append(out, Tint{Chord: ch, Added: d, Cost: 2 * i, Why: addedWhy(t, d)})
		}
		return out
	},
	Recognise: recogniseAdded,
	Also:      []string{"common-tone-pad"}, // IV with its 2nd beside I
	Drill:     ColouredChords,
}

// asTriad keeps what a hand that plays triads plays of the sheet's own symbol:
// the triad, and the 7th where a dominant asks for it.
func asTriad(t Toned) theory.Chord {
	ch := plainTriad(t.Chord)
	if t.Chord.Dominant() && !isSus(t.Chord) {
		ch.Tones = ch.Tones.With(theory.Degree{Number: 7, Alter: -1})
	}
	ch.Slash, ch.Bass = t.Chord.Slash, t.Chord.Bass
	return ch
}

func isSus(ch theory.Chord) bool {
	return !ch.Tones.Has(theory.Degree{Number: 3}) && !ch.Tones.Has(theory.Degree{Number: 3, Alter: -1}) &&
		(ch.Tones.Has(theory.Degree{Number: 4}) || ch.Tones.Has(theory.Degree{Number: 2}))
}

var (
	add9 = theory.Degree{Number: 9}
	add4 = theory.Degree{Number: 4}
)

// addable lists the notes that may join the triad, the usual one first. A 2nd is
// free where it is a whole step above the root and below the third, a 4th where it is
// a whole step above a minor third; on V it takes the place of the third, which it would rub
// against, wherever both would sound together (common practice, no source).
func addable(t Toned) []theory.Degree {
	ch := t.Chord
	if ch.Silent() || ch.Diminished() || ch.Tones.Has(theory.Degree{Number: 5, Alter: 1}) || isSus(ch) {
		return nil
	}
	if _, ok := ch.Third(); !ok {
		return nil
	}
	key := t.Passage.Span.Key
	in := func(d theory.Degree) bool { return key.Contains(d.On(ch.Root)) }
	deg, alter := key.Degree(ch.Root)
	minor := ch.MinorThird()
	switch {
	case deg == 5 && alter == 0 && !minor:
		return keepIn(in, add4)
	case minor:
		return keepIn(in, add4)
	}
	return keepIn(in, add9)
}

func keepIn(in func(theory.Degree) bool, ds ...theory.Degree) []theory.Degree {
	var out []theory.Degree
	for _, d := range ds {
		if in(d) {
			out = append(out, d)
		}
	}
	return out
}

// clashes tells whether the tune rubs against a note at a half step: on a beat,
// or for a beat and longer.
func clashes(t Toned, d theory.Degree) bool {
	class := d.On(t.Chord.Root).Class()
	for _, m := range melodyIn(t.Passage.Song, t.At, t.End) {
		diff := (m.Pitch.Class() - class + 12) % 12
		if diff != 1 && diff != 11 {
			continue
		}
		bar := t.Passage.Song.Bars[t.Passage.Song.BarAt(m.At)]
		if bar.Meter.Strength(m.At-bar.At) < 3 || m.Dur >= bar.Meter.BeatDur() {
			return true
		}
	}
	return false
}

// suspends tells whether the tune bears a chord with its fourth in the place of the third.
func suspends(t Toned) bool {
	sus := t.Chord.Triad()
	sus.Tones = sus.Tones.Without(deg3).With(add4).With(degB7)
	return harmony.BearsAll(t.Passage.Song, sus, t.Next, t.At, t.End)
}

// melodyIn returns the notes of the tune that sound in [from, to).
func melodyIn(s leadsheet.Song, from, to theory.Dur) []leadsheet.Note {
	lo, hi := 0, len(s.Melody)
	for lo < hi { // first note that ends after from
		mid := (lo + hi) / 2
		if s.Melody[mid].End() > from {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	end := lo
	for end < len(s.Melody) && s.Melody[end].At < to {
		end++
	}
	return s.Melody[lo:end]
}

func addedWhy(t Toned, d theory.Degree) reason.Reason {
	n := d.On(t.Chord.Root)
	switch {
	case d == add9:
		return reason.AddedSecond{Note: n}
	case t.Chord.MinorThird():
		return reason.AddedFourth{Note: n}
	}
	return reason.AddedBeside{Note: n}
}

// recogniseAdded finds printed chords whose triad has a 2nd, 9th or 4th beside
// its third and no seventh, and that really sound so.
func recogniseAdded(page *sight.Page) []Finding {
	var out []Finding
	for _, sp := range page.Spans() {
		ch := *sp.Chord()
		if _, seventh := ch.Seventh(); seventh || ch.Silent() || isSus(ch) {
			continue
		}
		for _, d := range []theory.Degree{add9, add4} {
			if !ch.Tones.Has(d) {
				continue
			}
			if ids := page.StruckClass(sp.At, sp.End, d.On(ch.Root).Class()); len(ids) > 0 {
				out = append(out, Finding{At: sp.At, End: sp.End, Notes: ids, Detail: ch.Pretty()})
			}
		}
	}
	return out
}
