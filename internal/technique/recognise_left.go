package technique

import (
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Recognisers of left-hand figures.

// recogniseBrokenTriad finds a lone lowest note followed by a pair above it that
// completes a triad, or the three notes one after the other within a beat.
func recogniseBrokenTriad(s score.Score) []Finding {
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !a.lone() || b.at != a.end {
			continue
		}
		switch {
		case len(b.notes) == 2 && b.low() > a.low() && triadic(a.low(), b.low(), b.high()):
			out = append(out, finding("root, then pair", a, b))
			i++
		case b.lone() && i+2 < len(ps) && ps[i+2].lone() && ps[i+2].at == b.end && a.dur() < a.pulse && b.dur() <= a.dur():
			if c := ps[i+2]; triadic(a.low(), b.low(), c.low()) {
				out = append(out, finding("one after the other", a, b, c))
				i += 2
			}
		}
	}
	return out
}

// triadic tells whether ascending keys are a close triad in root position; a
// suspended fourth or second may stand for the third.
func triadic(a, b, c int) bool {
	third, fifth := b-a, c-a
	return third >= 2 && third <= 5 && fifth >= 6 && fifth <= 8
}

// recogniseHeldBass finds single low notes, or a root with its fifth, that are
// held for two beats and longer with nothing else in the hand.
func recogniseHeldBass(s score.Score) []Finding {
	var out []Finding
	for _, p := range plays(s, score.Left) {
		least := 2 * p.pulse
		if p.bar >= 0 && s.Bars[p.bar].Meter.Valid() {
			least = min(least, s.Bars[p.bar].Meter.Bar())
		}
		if p.dur() < least || p.next < p.end {
			continue
		}
		if p.known() && p.notes[0].Pitch.Class() != p.chord.Lowest().Class() && p.notes[0].Pitch.Class() != p.chord.Root.Class() {
			continue
		}
		if p.lone() || len(p.notes) == 2 && p.span() == 7 {
			out = append(out, finding("", p))
		}
	}
	return out
}

// recogniseRootFifth finds the chord's root and the fifth above it, one after the
// other in whole beats, with nothing else of the hand under that chord in the bar
// but the same again.
func recogniseRootFifth(s score.Score) []Finding {
	ps := plays(s, score.Left)
	root := func(p play) bool {
		return p.lone() && (!p.known() || p.notes[0].Pitch.Class() == p.chord.Root.Class())
	}
	with := func(a, b play) bool { return a.bar == b.bar && a.from == b.from }
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !root(a) || !b.lone() || !with(a, b) || b.at != a.end || b.low()-a.low() != 7 || a.dur()%a.pulse != 0 || b.dur() < b.pulse {
			continue
		}
		if i > 0 && with(ps[i-1], a) && ps[i-1].low() != b.low() || i+2 < len(ps) && with(b, ps[i+2]) && ps[i+2].low() != a.low() {
			continue
		}
		out = append(out, finding("", a, b))
		i++
	}
	return out
}

// climbing finds three or more single left-hand notes under one chord, each joined
// to the next and of even length (but the last; in compound time any), that climb
// an octave or more. The run comes with the play after it, if it has one.
func climbing(s score.Score, is func(run []play, after *play) bool) []Finding {
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i+2 < len(ps); {
		j := i
		step := ps[i].next - ps[i].at
		for j+1 < len(ps) && ps[j].lone() && ps[j+1].lone() && ps[j+1].at == ps[j].end && (ps[i].compound || ps[j+1].at-ps[j].at == step) && ps[j+1].low() > ps[j].low() && ps[j+1].from == ps[i].from && ps[j+1].bar == ps[i].bar {
			j++
		}
		var after *play
		if j+1 < len(ps) {
			after = &ps[j+1]
		}
		if j-i >= 2 && ps[j].low()-ps[i].low() >= 12 && is(ps[i:j+1], after) {
			out = append(out, finding("", ps[i:j+1]...))
			i = j + 1
			continue
		}
		i++
	}
	return out
}

// hasSeventh tells whether a note of a climb is the chord's seventh or sixth.
func hasSeventh(run []play, after *play) bool {
	for _, p := range run[1:] {
		if d, ok := p.degree(p.notes[0]); ok && (d.Number == 6 || d.Number == 7) {
			return true
		}
	}
	if after == nil || !after.lone() || after.from != run[0].from || after.bar != run[0].bar {
		return false
	}
	d, ok := after.degree(after.notes[0])
	return ok && (d.Number == 6 || d.Number == 7)
}

// recogniseSpread finds root, fifth and notes above the octave, one after the
// other.
func recogniseSpread(s score.Score) []Finding {
	return climbing(s, func(run []play, after *play) bool {
		return !run[0].compound && run[0].next-run[0].at <= run[0].pulse && !hasSeventh(run, after)
	})
}

// recogniseOpenHand finds the same at the pace of the beat.
func recogniseOpenHand(s score.Score) []Finding {
	return climbing(s, func(run []play, after *play) bool {
		return !run[0].compound && run[0].next-run[0].at == run[0].pulse && !hasSeventh(run, after)
	})
}

// recogniseSpreadTenth finds root, seventh and tenth (or root, fifth, tenth and
// seventh) one after the other.
func recogniseSpreadTenth(s score.Score) []Finding {
	return climbing(s, func(run []play, after *play) bool {
		top := run[len(run)-1]
		d, ok := top.degree(top.notes[0])
		return ok && (d.Number == 3 || d.Number == 4) && top.low()-run[0].low() >= 14 && hasSeventh(run, after)
	})
}

// recogniseCompoundSpread finds the wide chord rolling through compound time.
func recogniseCompoundSpread(s score.Score) []Finding {
	return climbing(s, func(run []play, after *play) bool { return run[0].compound && !hasSeventh(run, after) })
}

// lowAndChord is a low strike with the chord after it.
type lowAndChord struct {
	low, chord play
	leap       bool // beyond what a hand that holds a ninth reaches from one place
}

// ninth is how far apart a hand plays without moving, in half steps.
const ninth = 14

// lowAndChords finds each low note (octave, fifth, tenth) that a higher chord
// follows within two beats, in shapes that alternate.
func lowAndChords(s score.Score) []lowAndChord {
	ps := plays(s, score.Left)
	var out []lowAndChord
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		low := a.lone() || len(a.notes) == 2 && (a.span() == 7 || a.span() == 12 || a.span() == 15 || a.span() == 16)
		if !low || len(b.notes) < 2 || b.low() <= a.low() || b.at-a.at > 2*a.pulse || b.dur() > 2*b.pulse || b.at != a.end {
			continue
		}
		out = append(out, lowAndChord{a, b, b.high()-a.low() > ninth && b.dur() <= b.pulse})
	}
	return out
}

// rich tells whether a chord of the hand has more than its triad: a seventh, a
// sixth or a tension of the printed chord.
func rich(p play) bool {
	for _, n := range p.notes {
		if d, ok := p.degree(n); ok && (d.Number == 6 || d.Number == 7 || d.Number > 8) {
			return true
		}
	}
	return false
}

// seventhIn tells whether the chord in force has a seventh or sixth.
func seventhIn(p play) bool {
	if !p.known() {
		return false
	}
	_, ok := p.chord.Seventh()
	return ok
}

// recogniseBassChord finds a low single note and the triad, with an added note
// perhaps, above it. A low note with a seventh chord a leap away is stride.
func recogniseBassChord(s score.Score) []Finding {
	var out []Finding
	for _, x := range lowAndChords(s) {
		if !x.low.lone() || seventhIn(x.chord) && rich(x.chord) && x.leap {
			continue
		}
		if len(x.chord.notes) == 2 && triadic(x.low.low(), x.chord.low(), x.chord.high()) {
			continue // a broken triad
		}
		if !seventhIn(x.chord) || !rich(x.chord) {
			out = append(out, finding("", x.low, x.chord))
		}
	}
	return out
}

// recogniseStride finds a low note, octave, fifth or tenth and a full chord that
// the hand has to leap to.
func recogniseStride(s score.Score) []Finding {
	var out []Finding
	for _, x := range lowAndChords(s) {
		wide := x.low.span() >= 12 && x.chord.dur() <= x.chord.pulse
		if x.low.low() <= 52 && (x.leap || wide) && (rich(x.chord) || wide || !x.chord.known()) {
			out = append(out, finding("", x.low, x.chord))
		}
	}
	return out
}

// recogniseTenths finds a tenth, alone or with a note between, of the left hand.
func recogniseTenths(s score.Score) []Finding {
	var out []Finding
	for _, st := range strikes(s, score.Left) {
		if k := st.span(); len(st.notes) == 2 && (k == 15 || k == 16) {
			out = append(out, Finding{At: st.at, End: st.end, Notes: st.ids()})
		}
	}
	return out
}

// recogniseThreeThreeTwo finds single left-hand notes on the first, fourth and
// seventh of eight straight eighths, or the first two of them in a half bar.
func recogniseThreeThreeTwo(s score.Score) []Finding {
	if s.Feel == leadsheet.Swing {
		return nil
	}
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if a.compound || !a.lone() || !b.lone() || a.bar != b.bar || b.at-a.at != 3*theory.Eighth || a.off%(2*a.pulse) != 0 || a.low() == b.low() {
			continue
		}
		third := b.next - b.at
		if third == 3*theory.Eighth && i+2 < len(ps) && ps[i+2].lone() && ps[i+2].bar == a.bar {
			out = append(out, finding("3+3+2", a, b, ps[i+2]))
			i += 2
			continue
		}
		if third == theory.Eighth && i+2 < len(ps) && ps[i+2].low() == b.low() && ps[i+2].bar == a.bar {
			continue // the bass of a bossa
		}
		if b.dur() == theory.Eighth || b.dur() == 3*theory.Eighth {
			out = append(out, finding("3+1", a, b))
			i++
		}
	}
	return out
}

// recogniseBossa finds root, fifth, fifth, root on the first, fourth, fifth and
// eighth of eight straight eighths (or its first half).
func recogniseBossa(s score.Score) []Finding {
	if s.Feel == leadsheet.Swing {
		return nil
	}
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i+2 < len(ps); i++ {
		a, b, c := ps[i], ps[i+1], ps[i+2]
		if a.compound || !a.lone() || !b.lone() || !c.lone() || a.off != 0 || a.bar != c.bar || a.from != c.from {
			continue
		}
		if b.at-a.at == 3*theory.Eighth && c.at-b.at == theory.Eighth && b.low() == c.low() && a.low() != b.low() {
			if i+3 < len(ps) && ps[i+3].lone() && ps[i+3].bar == a.bar {
				out = append(out, finding("", a, b, c, ps[i+3]))
				i += 3
				continue
			}
			out = append(out, finding("", a, b, c))
			i += 2
		}
	}
	return out
}

// recogniseShuffle finds root with fifth, then with sixth.
func recogniseShuffle(s score.Score) []Finding {
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if len(a.notes) == 2 && len(b.notes) == 2 && a.low() == b.low() && a.span() == 7 && b.span() == 9 && b.at-a.at <= a.pulse {
			out = append(out, finding("", a, b))
		}
	}
	return out
}

// recogniseAlberti finds low – high – middle – high in even single notes faster
// than the beat, within an octave.
func recogniseAlberti(s score.Score) []Finding {
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i+3 < len(ps); i++ {
		w := ps[i : i+4]
		even := w[0].next-w[0].at < w[0].pulse
		for k := range w {
			even = even && w[k].lone() && (k == 0 || w[k].at-w[k-1].at == w[1].at-w[0].at)
		}
		if even && w[1].low() == w[3].low() && w[0].low() < w[2].low() && w[2].low() < w[1].low() && w[1].low()-w[0].low() <= 12 {
			out = append(out, finding("", w...))
			i += 3
		}
	}
	return out
}

// isShell tells whether a strike is the printed chord's root with its seventh,
// sixth, third or fourth, within an octave.
func isShell(p play) bool {
	if len(p.notes) != 2 || !p.known() || p.span() > 12 || p.notes[0].Pitch.Class() != p.chord.Root.Class() {
		return false
	}
	d, in := p.degree(p.notes[1])
	return in && (d.Number == 3 || d.Number == 6 || d.Number == 7 || d.Number == 4)
}

// passingBy tells whether the chord in force lasts no longer than a beat.
func passingBy(p play) bool { return p.known() && p.to-p.from <= p.pulse && p.dur() <= p.pulse }

// recogniseShells finds shells, but those that walk with chords of a beat each
// and those that a low note of their own goes before.
func recogniseShells(s score.Score) []Finding {
	var out []Finding
	for _, p := range plays(s, score.Left) {
		if isShell(p) && !(passingBy(p) && !p.compound) {
			out = append(out, finding(p.chord.Pretty(), p))
		}
	}
	return out
}

// recogniseRootSeventh finds shells on chords that last a beat.
func recogniseRootSeventh(s score.Score) []Finding {
	var out []Finding
	for _, p := range plays(s, score.Left) {
		if isShell(p) && passingBy(p) && !p.compound {
			out = append(out, finding(p.chord.Pretty(), p))
		}
	}
	return out
}

// recogniseRootGuides finds a lone root followed by two notes of its chord that
// are neither root nor fifth, near enough to need no leap or held for more than a
// beat.
func recogniseRootGuides(s score.Score) []Finding {
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !a.known() || !a.lone() || len(b.notes) != 2 || a.from != b.from || a.bar != b.bar || a.notes[0].Pitch.Class() != a.chord.Lowest().Class() {
			continue
		}
		both := 0
		for _, n := range b.notes {
			if d, in := b.degree(n); in && d.Number != 1 && d.Number != 5 {
				both++
			}
		}
		steady := b.at-a.at == a.pulse && b.dur() <= b.pulse // as in stride
		if both == 2 && !(steady && b.high()-a.low() > ninth && b.low()-a.low() >= 10) {
			out = append(out, finding(a.chord.Pretty(), a, b))
		}
	}
	return out
}

// recogniseRootless finds left-hand chords of three notes or more that hold third
// and seventh of the printed chord and not its root, in bars without a low bass
// note of the hand.
func recogniseRootless(s score.Score) []Finding {
	ps := plays(s, score.Left)
	based := map[int]bool{} // bars with a bass note
	for _, p := range ps {
		if len(p.notes) <= 2 && p.low() <= 52 && p.known() && p.notes[0].Pitch.Class() == p.chord.Lowest().Class() {
			based[p.bar] = true
		}
	}
	var out []Finding
	for _, p := range ps {
		if !p.known() || len(p.notes) < 3 || based[p.bar] {
			continue
		}
		third, sev, root := false, false, false
		for _, n := range p.notes {
			d, in := p.degree(n)
			third = third || in && (d.Number == 3 || d.Number == 4)
			sev = sev || in && (d.Number == 7 || d.Number == 6)
			root = root || n.Pitch.Class() == p.chord.Root.Class()
		}
		if third && sev && !root {
			out = append(out, finding(p.chord.Pretty(), p))
		}
	}
	return out
}

// recogniseWalking finds lines of at least four single notes, one on each beat
// and perhaps one more before the next, that go by step at least once in four and
// are not the printed chords' lowest notes at least once in four.
func recogniseWalking(s score.Score) []Finding {
	ps := plays(s, score.Left)
	var out []Finding
	for i := 0; i < len(ps); {
		j, beats, steps, others := i, 0, 0, 0
		for ; j < len(ps); j++ {
			p := ps[j]
			onBeat := p.off%p.pulse == 0
			if !p.lone() || j == i && !onBeat || p.dur() > p.pulse || !onBeat && p.off%p.pulse*2 < p.pulse {
				break
			}
			if j > i {
				q := ps[j-1]
				if gap := p.at - q.at; gap > p.pulse || p.at > q.end || onBeat && gap == p.pulse && q.off%q.pulse != 0 {
					break
				}
				if d := abs(p.low() - q.low()); d == 1 || d == 2 {
					steps++
				}
			}
			if onBeat {
				beats++
			}
			if !p.known() || p.notes[0].Pitch.Class() != p.chord.Lowest().Class() {
				others++
			}
		}
		if beats >= 4 && steps*3 >= j-i-1 && others*4 >= j-i && 2*beats >= j-i {
			out = append(out, byBars(ps[i:j], 2)...)
		}
		i = max(j, i+1)
	}
	return out
}

// byBars cuts a long line into findings of n bars, so that each is short enough
// to be shown; a rest of fewer notes than a bar has pulses stays with the last.
func byBars(ps []play, n int) []Finding {
	var out []Finding
	for i := 0; i < len(ps); {
		j := i + 1
		for j < len(ps) && (ps[j].bar < ps[i].bar+n || len(ps)-j < 4) {
			j++
		}
		out = append(out, finding("", ps[i:j]...))
		i = j
	}
	return out
}

func recogniseGhosts(s score.Score) []Finding {
	var out []Finding
	for _, n := range s.Notes {
		if n.Marks.Has(score.Ghost) {
			out = append(out, Finding{At: n.At, End: n.End(), Notes: []string{n.ID}, Detail: n.Pitch.Pretty()})
		}
	}
	return out
}

// recogniseTwoFeel finds a bass note of two beats, in four with another of the
// chord's after it, and then one that leads by step or fifth to the next bar's
// first.
func recogniseTwoFeel(s score.Score) []Finding {
	ps := plays(s, score.Left)
	long := func(p play) bool { return p.lone() && !p.compound && p.dur() == 2*p.pulse && p.next-p.at == 2*p.pulse }
	leads := func(i int) bool {
		c := ps[i]
		if !c.lone() || c.dur() > c.pulse {
			return false
		}
		if i+1 == len(ps) {
			return true
		}
		way := abs(ps[i+1].low() - c.low())
		return ps[i+1].bar == c.bar+1 && ps[i+1].off == 0 && (way == 1 || way == 2 || way == 7)
	}
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !long(a) || a.off != 0 || a.bar != b.bar {
			continue
		}
		switch {
		case b.off == 2*a.pulse && i+2 < len(ps) && b.lone() && a.low() != b.low() && ps[i+2].bar == a.bar && ps[i+2].off == 3*a.pulse && leads(i+2):
			out = append(out, finding("", a, b, ps[i+2]))
			i += 2
		case b.off == 2*a.pulse && b.next-b.at <= a.pulse && leads(i+1) && (!b.known() || !b.chord.HasClass(b.notes[0].Pitch.Class()) || b.low()-a.low() != 7):
			out = append(out, finding("", a, b))
			i++
		}
	}
	return out
}

// recogniseEnding finds a last left-hand chord with more than root, fifth and
// octave that is held to the end.
func recogniseEnding(s score.Score) []Finding {
	ps := plays(s, score.Left)
	if len(ps) == 0 {
		return nil
	}
	last := ps[len(ps)-1]
	if len(last.notes) < 2 || last.end < s.End() || last.dur() < last.pulse {
		return nil
	}
	for _, k := range last.keys()[1:] {
		if d := (k - last.low()) % 12; d != 0 && d != 7 {
			if last.span() >= 9 || len(last.notes) >= 3 && last.span() >= 8 {
				return []Finding{finding("", last)}
			}
		}
	}
	return nil
}
