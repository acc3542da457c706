package technique

import (
	"gradatim/score"
	"gradatim/theory"
)

// Recognisers of harmony read the printed chords and check that what makes them
// special really sounds.

// recogniseSevenths finds chords with a seventh or sixth that is struck.
func recogniseSevenths(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		d, ok := sp.symbol.Chord.Seventh()
		if !ok {
			continue
		}
		if ids := soundingClass(s, sp.at, sp.end, d.On(sp.symbol.Chord.Root).Class()); len(ids) > 0 {
			out = append(out, Finding{At: sp.at, End: sp.end, Notes: ids, Detail: sp.symbol.Chord.Pretty()})
		}
	}
	return out
}

// recogniseDegrees finds chords with one of the degrees in their symbol, struck.
// An altered fifth or raised eleventh counts on a dominant only.
func recogniseDegrees(s score.Score, ds ...theory.Degree) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		ch := sp.symbol.Chord
		if _, seventh := ch.Seventh(); !seventh {
			continue
		}
		f := Finding{At: sp.at, End: sp.end, Detail: ch.Pretty()}
		for _, d := range ds {
			if !ch.Tones.Has(d) || (d.Number == 5) && !ch.Dominant() {
				continue
			}
			f.Notes = append(f.Notes, soundingClass(s, sp.at, sp.end, d.On(ch.Root).Class())...)
		}
		if len(f.Notes) > 0 {
			out = append(out, f)
		}
	}
	return out
}

// recogniseDominants finds dominant sevenths outside the key whose root moves to
// the next root by the given interval upwards: 5 a fourth (V7/x), 11 a half step
// down (subV7/x), 2 a step up (backdoor).
func recogniseDominants(up int) func(score.Score) []Finding {
	return func(s score.Score) []Finding {
		var out []Finding
		sps := symbolSpans(s)
		for i := 0; i+1 < len(sps); i++ {
			ch, next := sps[i].symbol.Chord, sps[i+1].symbol.Chord
			if !ch.Dominant() || next.Silent() || classesApart(ch.Root, next.Root) != up {
				continue
			}
			b := s.BarAt(sps[i].at)
			if b < 0 || !s.Bars[b].Key.Valid() || allInKey(s.Bars[b].Key, ch) {
				continue
			}
			out = append(out, Finding{At: sps[i].at, End: sps[i].end, Detail: ch.Pretty() + " – " + next.Pretty()})
		}
		return out
	}
}

func allInKey(k theory.Key, ch theory.Chord) bool {
	for _, n := range ch.Spell() {
		if !k.Contains(n) && !(k.Mode == theory.Minor && classesApart(k.Tonic, n) == 11) {
			return false
		}
	}
	return true
}

// recogniseTwoFive finds a minor or half-diminished seventh whose root falls a
// fifth to a dominant.
func recogniseTwoFive(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i+1 < len(sps); i++ {
		a, b := sps[i].symbol.Chord, sps[i+1].symbol.Chord
		if a.MinorThird() && a.Tones.Has(degB7) && b.Dominant() && classesApart(a.Root, b.Root) == 5 {
			out = append(out, Finding{At: sps[i].at, End: sps[i+1].end, Detail: a.Pretty() + " – " + b.Pretty()})
		}
	}
	return out
}

// recogniseDiminished finds diminished sevenths.
func recogniseDiminished(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		if ch := sp.symbol.Chord; ch.Diminished() && ch.Tones.Has(degBB7) {
			out = append(out, Finding{At: sp.at, End: sp.end, Detail: ch.Pretty()})
		}
	}
	return out
}

// recogniseBorrowed finds a minor IV, or a half-diminished ii, in a major key.
func recogniseBorrowed(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		b := s.BarAt(sp.at)
		if b < 0 || !s.Bars[b].Key.Valid() || s.Bars[b].Key.Mode.Minorish() || sp.symbol.Chord.Silent() {
			continue
		}
		ch := sp.symbol.Chord
		deg, alter := s.Bars[b].Key.Degree(ch.Root)
		if alter == 0 && (deg == 4 && ch.MinorThird() || deg == 2 && ch.Diminished()) {
			out = append(out, Finding{At: sp.at, End: sp.end, Detail: ch.Pretty()})
		}
	}
	return out
}

// recogniseTurnaround finds I–vi–ii–V (vi and ii of any quality), each of one
// length.
func recogniseTurnaround(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i+3 < len(sps); i++ {
		b := s.BarAt(sps[i].at)
		if b < 0 || !s.Bars[b].Key.Valid() {
			continue
		}
		k := s.Bars[b].Key
		match := true
		for n, want := range []int{1, 6, 2, 5} {
			if sps[i+n].symbol.Chord.Silent() {
				match = false
				break
			}
			deg, _ := k.Degree(sps[i+n].symbol.Chord.Root)
			match = match && deg == want
		}
		if match {
			out = append(out, Finding{At: sps[i].at, End: sps[i+3].end})
		}
	}
	return out
}

// recogniseCliche finds three or more chords on one root whose colour moves by
// half steps.
func recogniseCliche(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i+2 < len(sps); {
		j := i
		for j+1 < len(sps) && sps[j+1].symbol.Chord.Root == sps[i].symbol.Chord.Root && sps[j+1].symbol.Chord != sps[j].symbol.Chord &&
			!sps[j].symbol.Chord.Silent() && sps[j].symbol.Chord.MinorThird() == sps[j+1].symbol.Chord.MinorThird() {
			j++
		}
		if j-i >= 2 {
			out = append(out, Finding{At: sps[i].at, End: sps[j].end})
		}
		i = j + 1
	}
	return out
}

// recogniseInversions finds chords over another bass than their root.
func recogniseInversions(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		if ch := sp.symbol.Chord; ch.Slash && ch.Bass != ch.Root {
			out = append(out, Finding{At: sp.at, End: sp.end, Detail: ch.Pretty()})
		}
	}
	return out
}
