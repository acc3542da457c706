package ear

import (
	"cmp"
	"fmt"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// attacks hears what is struck together.
func (e *ear) attacks() {
	for i := 0; i < len(e.notes); {
		j := i
		for j < len(e.notes) && e.notes[j].at == e.notes[i].at {
			j++
		}
		e.attack(e.notes[i:j])
		i = j
	}
	for hand, strikes := range map[string][]strike{"left": e.hands[score.Left], "right": e.hands[score.Right]} {
		for _, s := range strikes {
			e.low(s)
			if hand == "right" {
				e.seconds(s)
			}
		}
	}
	e.leaps()
	e.shared()
}

// attack hears all that is struck at one moment, ascending.
func (e *ear) attack(ns []note) {
	if len(ns) < 2 {
		return
	}
	e.of(HalfStep, 1)
	e.of(CloseRub, 1)
	if a, b, ok := rub(ns); ok {
		e.mark(HalfStep, ns[0].at, fmt.Sprintf("%s and %s", e.name(a), e.name(b)))
	}
	for k := 1; k < len(ns); k++ {
		a, b := ns[k-1], ns[k]
		if b.key == a.key+1 && !(a.hand == score.Right && b.hand == score.Right) {
			e.mark(CloseRub, a.at, fmt.Sprintf("%s and %s", e.name(a), e.name(b)))
			break
		}
	}
}

// rub finds two keys a half step or a minor ninth apart, octaves between included.
func rub(ns []note) (a, b note, ok bool) {
	for i, a := range ns {
		for _, b := range ns[i+1:] {
			if (b.key-a.key)%12 == 1 {
				return a, b, true
			}
		}
	}
	return a, b, false
}

func (e *ear) low(s strike) {
	if len(s.notes) < 2 {
		return
	}
	e.of(LowSecond, 1)
	e.of(LowThird, 1)
	if slices.ContainsFunc(s.notes, func(n note) bool { return e.s.Notes[n.score].Marks.Has(score.Rolled) }) {
		return
	}
	const g3, c3 = 55, 48
	a, b := s.notes[0], s.notes[1]
	for k := 1; k < len(s.notes); k++ {
		a, b = s.notes[k-1], s.notes[k]
		if d := b.key - a.key; a.key < g3 && (d == 1 || d == 2) {
			e.mark(LowSecond, s.at, fmt.Sprintf("%s and %s", e.name(a), e.name(b)))
			break
		}
	}
	for k := 1; k < len(s.notes); k++ {
		a, b = s.notes[k-1], s.notes[k]
		if d := b.key - a.key; a.key < c3 && (d == 3 || d == 4) {
			e.mark(LowThird, s.at, fmt.Sprintf("%s and %s", e.name(a), e.name(b)))
			break
		}
	}
}

func (e *ear) seconds(s strike) {
	if len(s.notes) < 3 {
		return
	}
	e.of(RightSecond, 1)
	for k := 1; k < len(s.notes); k++ {
		if s.notes[k].key-s.notes[k-1].key <= 2 {
			e.mark(RightSecond, s.at, fmt.Sprintf("%s and %s", e.name(s.notes[k-1]), e.name(s.notes[k])))
			return
		}
	}
}

// leaps hears how far the left hand's line jumps.
func (e *ear) leaps() {
	line := e.hands[score.Left]
	for k := 1; k < len(line); k++ {
		e.of(LeftLeap, 1)
		a, b := line[k-1].notes[0], line[k].notes[0]
		if d := b.key - a.key; d > 7 || d < -7 {
			e.mark(LeftLeap, b.at, fmt.Sprintf("%s to %s", e.name(a), e.name(b)))
		}
	}
}

// shared hears where one hand has a key that the other has, or takes it over at
// once.
func (e *ear) shared() {
	byKey := map[int][]note{}
	for _, n := range e.notes {
		byKey[n.key] = append(byKey[n.key], n)
	}
	for _, n := range e.notes {
		if n.hand != score.Left {
			continue
		}
		e.of(SameKey, 1)
		for _, m := range byKey[n.key] {
			if m.hand == score.Right && m.at <= n.end && m.end >= n.at {
				e.mark(SameKey, n.at, e.name(n))
				break
			}
		}
	}
}

// tune hears the tune: what is early, and what disturbs a held note.
func (e *ear) tune() {
	runs := e.runs()
	for i, n := range e.sung {
		written := e.song.Melody[n.melody]
		e.of(TuneStruckAgain, 1)
		held := max(n.end, written.End()) // a note let go early is a held note disturbed
		if i+1 < len(e.sung) {
			held = min(held, e.sung[i+1].at)
		}
		for _, m := range e.notes {
			if m.at >= held {
				break
			}
			if m.at > n.at && m.melody < 0 && m.key >= n.key && !runs[m.at] {
				e.mark(TuneStruckAgain, m.at, fmt.Sprintf("%s on or over %s", e.name(m), e.name(n)))
				break
			}
		}
		e.of(TuneRange, 1)
		if n.key < 60 || n.key > 79 {
			e.mark(TuneRange, n.at, e.name(n))
		}
		e.of(TiedSixteenth, 1)
		if e.tiedSixteenth(n) {
			e.mark(TiedSixteenth, n.at, e.name(n))
		}
		if n.at >= written.At {
			continue
		}
		e.of(EarlyAlone, 1)
		was, is := chordAt(e.chords, n.at), chordAt(e.chords, written.At)
		if class := n.key % 12; was != is && !was.Silent() && !was.HasClass(class) {
			e.mark(EarlyAlone, n.at, fmt.Sprintf("%s over %s", e.name(n), was))
		}
	}
}

// runs finds the moments that belong to a run: five and more single notes of the
// right hand, each shorter than half a beat.
func (e *ear) runs() map[theory.Dur]bool {
	out := map[theory.Dur]bool{}
	line := e.hands[score.Right]
	for i := 0; i < len(line); {
		j := i
		for j < len(line) && len(line[j].notes) == 1 && line[j].notes[0].melody < 0 && 2*(line[j].notes[0].end-line[j].at) < e.bar(line[j].at).Meter.BeatDur() &&
			(j == i || line[j-1].notes[0].end == line[j].at) {
			j++
		}
		for k := i; j-i >= 5 && k < j; k++ {
			out[line[k].at] = true
		}
		i = max(j, i+1)
	}
	return out
}

// tiedSixteenth tells whether a note crosses a beat and begins or ends a sixteenth
// beside it.
func (e *ear) tiedSixteenth(n note) bool {
	b := e.bar(n.at)
	beat := b.Meter.BeatDur()
	off := (n.at - b.At) % beat
	to := (n.end - b.At) % beat
	crosses := (n.at-b.At)/beat != (n.end-1-b.At)/beat
	return crosses && (off != 0 && beat-off <= theory.Sixteenth || to != 0 && to <= theory.Sixteenth)
}

// bars hears each bar's first beat, its changes of chord and its symbols.
func (e *ear) bars() {
	for _, b := range e.s.Bars {
		if b.Pickup {
			continue
		}
		changes := 0
		for _, c := range e.chords {
			if c.at >= b.At && c.at < b.End() && !c.chord.Silent() {
				changes++
			}
		}
		e.of(BusyBar, 1)
		if changes > 2 {
			e.mark(BusyBar, b.At, fmt.Sprintf("%d changes", changes))
		}
		k := in(e.chords, b.At)
		if k < 0 || e.chords[k].chord.Silent() {
			continue
		}
		c := e.chords[k].chord
		home := k > 0 && c.Root.Class() == b.Key.Tonic.Class() && e.chords[k-1].chord.Dominant() && e.chords[k].at == b.At &&
			up(e.chords[k-1].chord.Root.Class(), c.Root.Class()) == 5
		low, ok := e.lowestOf(b.At)
		rooted := ok && (low.key%12 == c.Lowest().Class() || low.key%12 == c.Root.Class())
		e.of(NoRoot, 1)
		if home {
			e.of(NoRootHome, 1)
		}
		if !rooted {
			e.mark(NoRoot, b.At, fmt.Sprintf("%s over %s", c, e.heard(low, ok)))
			if home {
				e.mark(NoRootHome, b.At, c.String())
			}
		}
	}
	for _, c := range e.chords {
		if c.chord.Silent() {
			continue
		}
		e.of(OddSpelling, 1)
		if n := c.chord.Root; odd(n) && !e.bar(c.at).Key.Contains(n) {
			e.mark(OddSpelling, c.at, c.chord.String())
		}
	}
}

func odd(n theory.Name) bool {
	switch n.Letter {
	case theory.F, theory.C:
		return n.Alter < 0 || n.Alter > 1
	case theory.E, theory.B:
		return n.Alter > 0 || n.Alter < -1
	}
	return n.Alter > 1 || n.Alter < -1
}

// ending hears the last strike.
func (e *ear) ending() {
	if len(e.sung) == 0 || len(e.hands[score.Left]) == 0 {
		return
	}
	for _, code := range []string{EndTurnaround, EndApart, EndAfter, EndRootless, EndRub, EndFermata} {
		e.of(code, 1)
	}
	left, right := e.hands[score.Left], e.hands[score.Right]
	l, r := left[len(left)-1], right[len(right)-1]
	at := max(l.at, r.at)
	if l.at != r.at {
		e.mark(EndApart, at, "")
	}
	if tune := e.sung[len(e.sung)-1]; l.at > tune.at {
		e.mark(EndAfter, l.at, fmt.Sprintf("%s after %s", e.name(l.notes[0]), e.name(tune)))
	}
	last := e.chords[len(e.chords)-1]
	for k := len(e.chords) - 1; k > 0 && last.chord.Silent(); k-- {
		last = e.chords[k-1]
	}
	if low, ok := e.lowestOf(at); !ok || low.key%12 != last.chord.Lowest().Class() {
		e.mark(EndRootless, at, fmt.Sprintf("%s over %s", last.chord, e.heard(low, ok)))
	}
	var all []note
	for _, n := range e.sounding(at) {
		if n.at == at {
			all = append(all, n)
		}
	}
	slices.SortFunc(all, func(a, b note) int { return cmp.Compare(a.key, b.key) })
	if a, b, ok := rub(all); ok {
		e.mark(EndRub, at, fmt.Sprintf("%s and %s", e.name(a), e.name(b)))
	}
	held := map[score.Hand]bool{}
	for _, n := range all {
		if e.s.Notes[n.score].Marks.Has(score.Fermata) {
			held[n.hand] = true
		}
	}
	if !held[score.Left] || !held[score.Right] {
		e.mark(EndFermata, at, "")
	}
	key := e.s.Bars[len(e.s.Bars)-1].Key
	home := -1
	for k, c := range e.sheet {
		if !c.chord.Silent() && c.chord.Root.Class() == key.Tonic.Class() {
			home = k
		}
	}
	if home >= 0 && home < len(e.sheet)-1 && e.sheet[home].at >= e.s.End()-4*e.bar(e.s.End()-1).Meter.Bar() &&
		last.chord.Root.Class() != key.Tonic.Class() && e.sheet[home].chord.HasClass(e.sung[len(e.sung)-1].key%12) {
		e.mark(EndTurnaround, last.at, fmt.Sprintf("%s after the last %s", last.chord, e.sheet[home].chord))
	}
}
