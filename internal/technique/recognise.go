package technique

import (
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// strike is what one hand plays at one moment.
type strike struct {
	at, end theory.Dur
	notes   []score.Note // ascending
}

func (s strike) keys() []int {
	out := make([]int, len(s.notes))
	for i, n := range s.notes {
		out[i] = n.Pitch.MIDI()
	}
	return out
}

func (s strike) ids() []string {
	out := make([]string, len(s.notes))
	for i, n := range s.notes {
		out[i] = n.ID
	}
	return out
}

func (s strike) low() int { return s.notes[0].Pitch.MIDI() }

// strikes collects the struck notes of a hand, moment by moment; grace notes are
// left out.
func strikes(s score.Score, h score.Hand) []strike {
	var out []strike
	for _, n := range s.Notes {
		if n.Hand != h || n.Grace > 0 {
			continue
		}
		if k := len(out); k == 0 || out[k-1].at != n.At {
			out = append(out, strike{at: n.At, end: n.End()})
		}
		k := len(out) - 1
		out[k].notes = append(out[k].notes, n)
		out[k].end = max(out[k].end, n.End())
	}
	for i := range out {
		slices.SortFunc(out[i].notes, func(a, b score.Note) int { return theory.ComparePitch(a.Pitch, b.Pitch) })
	}
	return out
}

func recogniseTriads(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		if sp.symbol.Chord == plainTriad(sp.symbol.Chord) && !sp.symbol.Chord.Silent() {
			out = append(out, Finding{At: sp.at, End: sp.end, Detail: sp.symbol.Chord.Pretty()})
		}
	}
	return out
}

type symbolSpan struct {
	at, end theory.Dur
	symbol  score.Symbol
}

// symbolSpans gives each printed chord its stretch.
func symbolSpans(s score.Score) []symbolSpan {
	out := make([]symbolSpan, len(s.Chords))
	for i, c := range s.Chords {
		out[i] = symbolSpan{c.At, s.End(), c}
		if i > 0 {
			out[i-1].end = c.At
		}
	}
	return out
}

// recogniseBrokenTriad finds a lone lowest note followed by a pair above it that
// completes a triad, or the three notes one after the other.
func recogniseBrokenTriad(s score.Score) []Finding {
	st := strikes(s, score.Left)
	var out []Finding
	for i := 0; i+1 < len(st); i++ {
		a, b := st[i], st[i+1]
		if len(a.notes) != 1 || b.at != a.end {
			continue
		}
		switch {
		case len(b.notes) == 2 && triadic(append(a.keys(), b.keys()...)) && b.low() > a.low():
			out = append(out, Finding{At: a.at, End: b.end, Notes: append(a.ids(), b.ids()...), Detail: "root, then pair"})
			i++
		case len(b.notes) == 1 && i+2 < len(st) && len(st[i+2].notes) == 1 && st[i+2].at == b.end:
			c := st[i+2]
			if a.low() < b.low() && b.low() < c.low() && triadic([]int{a.low(), b.low(), c.low()}) {
				out = append(out, Finding{At: a.at, End: c.end, Notes: slices.Concat(a.ids(), b.ids(), c.ids()), Detail: "one after the other"})
				i += 2
			}
		}
	}
	return out
}

// triadic tells whether ascending keys are a close triad in root position.
func triadic(keys []int) bool {
	if len(keys) != 3 {
		return false
	}
	third, fifth := keys[1]-keys[0], keys[2]-keys[0]
	return (third == 3 || third == 4 || third == 5 || third == 2) && (fifth == 6 || fifth == 7 || fifth == 8)
}

// recogniseHeldBass finds single low notes, or a root with its fifth, that last a
// bar.
func recogniseHeldBass(s score.Score) []Finding {
	var out []Finding
	for _, st := range strikes(s, score.Left) {
		b := s.BarAt(st.at)
		if b < 0 || st.end-st.at < s.Bars[b].Meter.Bar() {
			continue
		}
		if k := st.keys(); len(k) == 1 || len(k) == 2 && k[1]-k[0] == 7 {
			out = append(out, Finding{At: st.at, End: st.end, Notes: st.ids()})
		}
	}
	return out
}

// recogniseAdded finds printed chords whose triad has a 2nd, 9th or 4th beside
// its third and no seventh, and that really sound so.
func recogniseAdded(s score.Score) []Finding {
	var out []Finding
	for _, sp := range symbolSpans(s) {
		ch := sp.symbol.Chord
		if _, seventh := ch.Seventh(); seventh || ch.Silent() {
			continue
		}
		for _, d := range []theory.Degree{add9, add4} {
			if !ch.Tones.Has(d) || isSus(ch) {
				continue
			}
			if ids := soundingClass(s, sp.at, sp.end, d.On(ch.Root).Class()); len(ids) > 0 {
				out = append(out, Finding{At: sp.at, End: sp.end, Notes: ids, Detail: ch.Pretty()})
			}
		}
	}
	return out
}

// soundingClass returns the ids of the notes of a pitch class struck in [from,
// to).
func soundingClass(s score.Score, from, to theory.Dur, class int) []string {
	var out []string
	for _, n := range notesIn(s, from, to) {
		if n.Pitch.Class() == class && n.Grace == 0 {
			out = append(out, n.ID)
		}
	}
	return out
}

// notesIn returns the notes struck in [from, to).
func notesIn(s score.Score, from, to theory.Dur) []score.Note {
	lo, _ := slices.BinarySearchFunc(s.Notes, from, func(n score.Note, at theory.Dur) int { return int(min(1, max(-1, n.At-at))) })
	hi := lo
	for hi < len(s.Notes) && s.Notes[hi].At < to {
		hi++
	}
	return s.Notes[lo:hi]
}

// recogniseSuspension finds a suspended chord that is followed by the same root
// with its third.
func recogniseSuspension(s score.Score) []Finding {
	var out []Finding
	sps := symbolSpans(s)
	for i := 0; i+1 < len(sps); i++ {
		a, b := sps[i].symbol.Chord, sps[i+1].symbol.Chord
		if isSus(a) && a.Root == b.Root && !isSus(b) && !b.Silent() {
			out = append(out, Finding{At: sps[i].at, End: sps[i+1].end, Detail: a.Pretty() + " – " + b.Pretty()})
		}
	}
	return out
}

// recogniseAnticipation finds top notes that begin half a beat before a strong
// beat and are held over it.
func recogniseAnticipation(s score.Score) []Finding {
	var out []Finding
	for _, st := range strikes(s, score.Right) {
		b := s.BarAt(st.at)
		if b < 0 {
			continue
		}
		bar := s.Bars[b]
		beat := bar.Meter.BeatDur()
		if bar.Meter.Unit == 2 {
			beat = theory.Quarter
		}
		target := st.at + beat/2 - bar.At
		over := target == bar.Dur || bar.Meter.BeatCount()%2 == 0 && target == bar.Dur/2
		if over && st.end-st.at > beat/2 && !bar.Meter.Compound() {
			out = append(out, Finding{At: st.at, End: st.end, Notes: st.ids(), Detail: "half a beat early"})
		}
	}
	return out
}

// recogniseSpread finds three or more single left-hand notes that climb more
// than an octave, or to the octave by the fifth.
func recogniseSpread(s score.Score) []Finding {
	st := strikes(s, score.Left)
	var out []Finding
	for i := 0; i+2 < len(st); {
		j := i
		for j+1 < len(st) && len(st[j].notes) == 1 && len(st[j+1].notes) == 1 && st[j+1].at == st[j].end && st[j+1].low() > st[j].low() {
			j++
		}
		if j-i >= 2 && st[j].low()-st[i].low() >= 12 {
			f := Finding{At: st[i].at, End: st[j].end}
			for _, x := range st[i : j+1] {
				f.Notes = append(f.Notes, x.ids()...)
			}
			out = append(out, f)
			i = j + 1
			continue
		}
		i++
	}
	return out
}

// recogniseBassChord finds a low single note (or octave) followed by a chord of
// two notes or more that lies higher.
func recogniseBassChord(s score.Score) []Finding {
	st := strikes(s, score.Left)
	var out []Finding
	for i := 0; i+1 < len(st); i++ {
		a, b := st[i], st[i+1]
		if len(a.notes) == 1 && len(b.notes) >= 2 && b.low()-a.low() >= 5 && b.at == a.end && b.at-a.at <= theory.Half {
			out = append(out, Finding{At: a.at, End: b.end, Notes: append(a.ids(), b.ids()...)})
		}
	}
	return out
}

// recogniseThreeThreeTwo finds left-hand onsets grouped 3+3+2 eighths.
func recogniseThreeThreeTwo(s score.Score) []Finding {
	st := strikes(s, score.Left)
	var out []Finding
	for i := 0; i+2 < len(st); i++ {
		if st[i+1].at-st[i].at == 3*theory.Eighth && st[i+2].at-st[i+1].at == 3*theory.Eighth && st[i+2].end-st[i+2].at <= 2*theory.Eighth {
			out = append(out, Finding{At: st[i].at, End: st[i+2].end, Notes: slices.Concat(st[i].ids(), st[i+1].ids(), st[i+2].ids())})
		}
	}
	return out
}

// recogniseAlberti finds low – high – middle – high in even single notes.
func recogniseAlberti(s score.Score) []Finding {
	st := strikes(s, score.Left)
	var out []Finding
	for i := 0; i+3 < len(st); i++ {
		w := st[i : i+4]
		even := true
		for k := range w {
			even = even && len(w[k].notes) == 1 && (k == 0 || w[k].at-w[k-1].at == w[1].at-w[0].at)
		}
		if even && w[1].low() == w[3].low() && w[0].low() < w[2].low() && w[2].low() < w[1].low() {
			out = append(out, Finding{At: w[0].at, End: w[3].end, Notes: slices.Concat(w[0].ids(), w[1].ids(), w[2].ids(), w[3].ids())})
			i += 3
		}
	}
	return out
}

// recogniseThirds finds right-hand pairs a third or a sixth apart.
func recogniseThirds(s score.Score) []Finding {
	var out []Finding
	for _, st := range strikes(s, score.Right) {
		if k := st.keys(); len(k) == 2 {
			if d := k[1] - k[0]; d == 3 || d == 4 || d == 8 || d == 9 {
				out = append(out, Finding{At: st.at, End: st.end, Notes: st.ids()})
			}
		}
	}
	return out
}

// recogniseFill finds right-hand notes that begin while a higher note of the
// hand is held.
func recogniseFill(s score.Score) []Finding {
	var out []Finding
	held := theory.Dur(0)
	top := 0
	for _, st := range strikes(s, score.Right) {
		if st.at < held && st.notes[len(st.notes)-1].Pitch.MIDI() < top {
			out = append(out, Finding{At: st.at, End: st.end, Notes: st.ids()})
			continue
		}
		held, top = st.end, st.notes[len(st.notes)-1].Pitch.MIDI()
	}
	return out
}
