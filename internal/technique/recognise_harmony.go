package technique

import (
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Recognisers of harmony read the printed chords and check that what makes them
// special really sounds.

// recogniseTriads finds printed triads under which nothing else is struck in the
// left hand.
func recogniseTriads(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		ch := *sp.chord()
		if ch.Silent() || ch != plainTriad(ch) {
			continue
		}
		plain := true
		for _, n := range notesIn(s, sp.at, sp.end) {
			plain = plain && (n.Hand != score.Left || n.Grace > 0 || ch.HasClass(n.Pitch.Class()))
		}
		if plain {
			out = append(out, Finding{At: sp.at, End: sp.end, Detail: ch.Pretty()})
		}
	}
	return out
}

// recogniseAdded finds printed chords whose triad has a 2nd, 9th or 4th beside
// its third and no seventh, and that really sound so.
func recogniseAdded(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		ch := *sp.chord()
		if _, seventh := ch.Seventh(); seventh || ch.Silent() || isSus(ch) {
			continue
		}
		for _, d := range []theory.Degree{add9, add4} {
			if !ch.Tones.Has(d) {
				continue
			}
			if ids := soundingClass(s, sp.at, sp.end, d.On(ch.Root).Class()); len(ids) > 0 {
				out = append(out, Finding{At: sp.at, End: sp.end, Notes: ids, Detail: ch.Pretty()})
			}
		}
	}
	return out
}

// recognisePad finds two and more chords in a row, on different roots, that all
// have the key's first and fifth, one of them as added notes (a 9th on IV, a 7th
// on vi) that are struck.
func recognisePad(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i < len(sps); {
		k, ok := keyIn(s, sps[i].at)
		fifth := k.Tonic.Up(fifthUp)
		holds := func(ch *theory.Chord) bool {
			return ok && !ch.Silent() && !ch.Dominant() && ch.HasClass(k.Tonic.Class()) && ch.HasClass(fifth.Class())
		}
		j := i
		var ids []string
		for j < len(sps) && holds(sps[j].chord()) {
			if ch := sps[j].chord(); !ch.Triad().HasClass(fifth.Class()) {
				if d, ok := ch.Degree(fifth); ok && (d == add9 || d == degB7) && !ch.Tones.Has(deg7) {
					ids = append(ids, soundingClass(s, sps[j].at, sps[j].end, fifth.Class())...)
				}
			}
			j++
		}
		if j-i >= 2 && len(ids) > 0 {
			out = append(out, Finding{At: sps[i].at, End: sps[j-1].end, Notes: ids, Detail: k.Tonic.Pretty() + " and " + fifth.Pretty() + " stay"})
		}
		i = max(j, i+1)
	}
	return out
}

// recogniseSuspension finds a suspended chord that is followed by the same root
// with its third.
func recogniseSuspension(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i+1 < len(sps); i++ {
		a, b := *sps[i].chord(), *sps[i+1].chord()
		if isSus(a) && a.Root == b.Root && !isSus(b) && !b.Silent() {
			out = append(out, Finding{At: sps[i].at, End: sps[i+1].end, Detail: a.Pretty() + " – " + b.Pretty()})
		}
	}
	return out
}

// recogniseSevenths finds chords with a seventh or sixth that is struck.
func recogniseSevenths(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		ch := *sp.chord()
		d, ok := ch.Seventh()
		if !ok || ch.Silent() {
			continue
		}
		if ids := soundingClass(s, sp.at, sp.end, d.On(ch.Root).Class()); len(ids) > 0 {
			out = append(out, Finding{At: sp.at, End: sp.end, Notes: ids, Detail: ch.Pretty()})
		}
	}
	return out
}

// recogniseDegrees finds chords with one of the degrees in their symbol, struck.
// An altered fifth counts on a dominant only.
func recogniseDegrees(s score.Score, ds ...theory.Degree) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		ch := *sp.chord()
		if _, seventh := ch.Seventh(); !seventh {
			continue
		}
		f := Finding{At: sp.at, End: sp.end, Detail: ch.Pretty()}
		for _, d := range ds {
			if !ch.Tones.Has(d) || d.Number == 5 && !ch.Dominant() {
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

// three is a chord between its neighbours.
type three struct {
	symbolSpan
	key          theory.Key
	before, next *theory.Chord // zero at the ends
	lasted       theory.Dur    // the chord before
	strong       bool          // begins on a bar's first beat or its middle
}

// threes lists the sounding chords with their neighbours, in keys that are known.
func threes(s score.Score) []three {
	sps := symbolSpans(s)
	none := new(theory.Chord)
	out := make([]three, 0, len(sps))
	for i, sp := range sps {
		k, ok := keyIn(s, sp.at)
		if !ok || sp.chord().Silent() {
			continue
		}
		b := s.Bars[s.BarAt(sp.at)]
		t := three{symbolSpan: sp, key: k, before: none, next: none, strong: sp.at == b.At || sp.at-b.At == b.Dur/2 && b.Meter.BeatCount()%2 == 0}
		if i > 0 {
			t.before, t.lasted = sps[i-1].chord(), sps[i-1].end-sps[i-1].at
		}
		if i+1 < len(sps) {
			t.next = sps[i+1].chord()
		}
		out = append(out, t)
	}
	return out
}

func (t three) finding() Finding {
	d := t.chord().Pretty()
	if !t.next.Silent() {
		d += " – " + t.next.Pretty()
	}
	return Finding{At: t.at, End: t.end, Detail: d}
}

// applied tells whether the chord is a dominant outside the key whose root moves
// to the next by so many half steps upwards: 5 a fourth (V7/x), 11 a half step
// down, 2 a step up.
func (t three) applied(up int) bool {
	return t.chord().Dominant() && !t.next.Silent() && classesApart(t.chord().Root, t.next.Root) == up && !allInKey(t.key, *t.chord())
}

func recognise(s score.Score, is func(three) bool) []Finding {
	var out []Finding
	for _, t := range threes(s) {
		if is(t) {
			out = append(out, t.finding())
		}
	}
	return out
}

// recogniseApplied finds every dominant of a chord that is not the tonic's own.
func recogniseApplied(s score.Score) []Finding {
	return recognise(s, func(t three) bool { return t.applied(5) })
}

// recogniseInserted finds dominants of the next chord, the key's own V included,
// that take the end of another chord's time.
func recogniseInserted(s score.Score) []Finding {
	return recognise(s, func(t three) bool {
		return t.chord().Dominant() && !t.next.Silent() && classesApart(t.chord().Root, t.next.Root) == 5 &&
			!t.before.Silent() && t.before.Root != t.chord().Root && t.end-t.at <= t.lasted && t.offBar(s)
	})
}

// offBar tells whether a chord begins after its bar's first beat.
func (t three) offBar(s score.Score) bool { return s.Bars[s.BarAt(t.at)].At != t.at }

// recogniseSubstitutes finds dominants a half step above the root that they lead
// to.
func recogniseSubstitutes(s score.Score) []Finding {
	return recognise(s, func(t three) bool { return t.applied(11) })
}

// recogniseFromAbove finds those of them that last no longer than the chord
// before: they only lead on.
func recogniseFromAbove(s score.Score) []Finding {
	return recognise(s, func(t three) bool {
		return t.applied(11) && !t.before.Silent() && t.end-t.at <= t.lasted
	})
}

// recogniseBackdoor finds ♭VII7 stepping up to the tonic.
func recogniseBackdoor(s score.Score) []Finding {
	return recognise(s, func(t three) bool { return t.applied(2) && t.next.Root == t.key.Tonic })
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
// fifth to a dominant no longer than itself.
func recogniseTwoFive(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i+1 < len(sps); i++ {
		a, b := *sps[i].chord(), *sps[i+1].chord()
		if a.MinorThird() && a.Tones.Has(degB7) && b.Dominant() && !isSus(b) && classesApart(a.Root, b.Root) == 5 {
			out = append(out, Finding{At: sps[i].at, End: sps[i].end, Detail: a.Pretty() + " – " + b.Pretty()})
		}
	}
	return out
}

// diminished tells whether a chord is a diminished seventh.
func (t three) diminished() bool { return t.chord().Diminished() && t.chord().Tones.Has(degBB7) }

// passes tells whether the roots before and after lie a whole step apart with the
// chord's own between them.
func (t three) passes() bool {
	if t.before.Silent() || t.next.Silent() {
		return false
	}
	in, out := classesApart(t.before.Root, t.chord().Root), classesApart(t.chord().Root, t.next.Root)
	return in == 1 && out == 1 || in == 11 && out == 11
}

// recogniseLeading finds diminished sevenths a half step below the next root.
func recogniseLeading(s score.Score) []Finding {
	return recognise(s, func(t three) bool {
		return t.diminished() && !t.passes() && !t.next.Silent() && classesApart(t.chord().Root, t.next.Root) == 1
	})
}

// recognisePassing finds diminished sevenths between two roots a whole step
// apart.
func recognisePassing(s score.Score) []Finding {
	return recognise(s, func(t three) bool { return t.diminished() && t.passes() })
}

// recogniseCommonTone finds diminished sevenths between two chords on their own
// root.
func recogniseCommonTone(s score.Score) []Finding {
	return recognise(s, func(t three) bool {
		return t.diminished() && t.before.Root.Class() == t.chord().Root.Class() && t.next.Root.Class() == t.chord().Root.Class() && !t.next.Silent()
	})
}

// recogniseBorrowed finds a minor IV, or a half-diminished ii, in a major key.
func recogniseBorrowed(s score.Score) []Finding {
	return recognise(s, func(t three) bool {
		deg, alter := t.key.Degree(t.chord().Root)
		return !t.key.Mode.Minorish() && alter == 0 && (deg == 4 && t.chord().MinorThird() && !t.chord().Diminished() || deg == 2 && t.chord().Diminished() && t.chord().Tones.Has(degB7))
	})
}

// recogniseStyleDominants finds dominant sevenths in a major key that are a colour
// before they are a way to another chord: on I where IV does not follow, on IV, and
// on vi and ii both in the chain vi–ii–V; where eighths swing on any of the four.
func recogniseStyleDominants(s score.Score) []Finding {
	ts := threes(s)
	degree := func(i int) int {
		if i < 0 || i >= len(ts) {
			return 0
		}
		d, alter := ts[i].key.Degree(ts[i].chord().Root)
		if alter != 0 {
			return 0
		}
		return d
	}
	var out []Finding
	for i, t := range ts {
		if t.key.Mode.Minorish() || !t.chord().Dominant() || isSus(*t.chord()) {
			continue
		}
		d := degree(i)
		chain := d == 6 && degree(i+1) == 2 && ts[i+1].chord().Dominant() || d == 2 && degree(i-1) == 6 && ts[i-1].chord().Dominant() && degree(i+1) == 5
		swung := s.Feel == leadsheet.Swing && (d == 1 || d == 2 || d == 6)
		if d == 1 && degree(i+1) != 4 || d == 4 || chain || swung {
			out = append(out, t.finding())
		}
	}
	return out
}

// recogniseSubstitution finds iii or vi after I, and ii after IV, as minor
// sevenths in the second half of their time.
func recogniseSubstitution(s score.Score) []Finding {
	return recognise(s, func(t three) bool {
		if t.key.Mode.Minorish() || t.before.Silent() || !t.chord().MinorThird() || !t.chord().Tones.Has(degB7) || t.chord().Diminished() || t.end-t.at != t.lasted {
			return false
		}
		from, a := t.key.Degree(t.before.Root)
		to, b := t.key.Degree(t.chord().Root)
		return a == 0 && b == 0 && !t.before.MinorThird() && (from == 1 && (to == 6 || to == 3) || from == 4 && to == 2)
	})
}

// recogniseTurnaround finds I–vi–ii–V (vi and ii of any quality), the last three
// within two bars.
func recogniseTurnaround(s score.Score) []Finding {
	var out []Finding
	ts := threes(s)
	for i := 0; i+3 < len(ts); i++ {
		match := true
		for n, want := range []int{1, 6, 2, 5} {
			t := ts[i+n]
			deg, _ := t.key.Degree(t.chord().Root)
			match = match && deg == want && !t.chord().Slash && (n == 0 || t.at == ts[i+n-1].end)
		}
		if bar := s.Bars[s.BarAt(ts[i].at)]; match && ts[i+3].at-ts[i+1].at < 2*bar.Meter.Bar() {
			f := Finding{At: ts[i+1].at, End: ts[i+3].end}
			for n := range 4 {
				if n > 0 {
					f.Detail += " – "
				}
				f.Detail += ts[i+n].chord().Pretty()
			}
			out = append(out, f)
		}
	}
	return out
}

// lineTone is the inner note that a line cliché moves, as half steps above the
// root: the seventh or sixth beside a plain triad, the raised fifth, else the
// octave of a minor and the fifth of a major chord.
func lineTone(ch theory.Chord) (int, bool) {
	if ch.Silent() || ch.Slash || !ch.UpperTones.Empty() {
		return 0, false
	}
	if d, ok := ch.Seventh(); ok {
		return d.Semitones(), true
	}
	if ch.Tones.Has(degS5) {
		return 8, true
	}
	if ch.MinorThird() {
		return 12, true
	}
	return 7, true
}

// recogniseCliche finds three or more chords on one root, with one third, whose
// inner note goes on by half steps (5 – ♯5 – 6 and back in major).
func recogniseCliche(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i+2 < len(sps); {
		j := i
		for j+1 < len(sps) {
			a, b := sps[j].chord(), sps[j+1].chord()
			x, ok := lineTone(*a)
			y, ok2 := lineTone(*b)
			if !ok || !ok2 || a.Root != b.Root || a.MinorThird() != b.MinorThird() || abs(x-y) != 1 {
				break
			}
			j++
		}
		if j-i >= 2 {
			out = append(out, Finding{At: sps[i].at, End: sps[j].end, Detail: sps[i].chord().Pretty() + " – " + sps[j].chord().Pretty()})
		}
		i = max(j, i+1)
	}
	return out
}

// recogniseSteppingBass finds chords over their third or fifth whose bass lies a
// step from the one before and a step, the same way, from the next.
func recogniseSteppingBass(s score.Score) []Finding {
	return recognise(s, func(t three) bool {
		ch := t.chord()
		if !ch.Slash || ch.Bass == ch.Root || t.before.Silent() || t.next.Silent() || !ch.HasClass(ch.Bass.Class()) {
			return false
		}
		in, out := stepBetween(t.before.Lowest(), ch.Bass), stepBetween(ch.Bass, t.next.Lowest())
		return in*out > 0
	})
}

// recognisePedal finds two and more chords in a row over one bass that is not the
// root of all of them.
func recognisePedal(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i < len(sps); {
		j := i
		foreign := false
		for j < len(sps) && !sps[j].chord().Silent() && sps[j].chord().Lowest() == sps[i].chord().Lowest() {
			foreign = foreign || sps[j].chord().Root != sps[j].chord().Lowest()
			j++
		}
		if j-i >= 2 && foreign {
			out = append(out, Finding{At: sps[i].at, End: sps[j-1].end, Detail: sps[i].chord().Lowest().Pretty() + " stays in the bass"})
		}
		i = max(j, i+1)
	}
	return out
}
