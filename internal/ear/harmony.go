package ear

import (
	"fmt"

	"gradatim/theory"
)

// harmony hears the chords against the tune.
func (e *ear) harmony() {
	for i, c := range e.chords {
		if c.chord.Silent() || !ours(chordAt(e.sheet, c.at), c.chord) {
			continue
		}
		e.of(ChordAgainstTune, 1)
		var next theory.Chord
		if i+1 < len(e.chords) {
			next = e.chords[i+1].chord
		}
		for _, n := range e.sung {
			if n.at < c.end && n.end > c.at && !allows(c.chord, next, e.s.Notes[n.score].Pitch.Class()) {
				e.mark(ChordAgainstTune, c.at, fmt.Sprintf("%s under %s", c.chord, e.name(n)))
				break
			}
		}
	}
}

// ours tells whether a chord is more than the sheet's with other notes added: on
// another root, of another triad, or a dominant where the sheet has none.
func ours(sheet, page theory.Chord) bool {
	if sheet.Silent() {
		return true
	}
	if sheet.Root.Class() != page.Root.Class() {
		return true
	}
	third, ok := sheet.Third()
	if now, _ := page.Third(); ok && now != third {
		return true
	}
	fifth, had := sheet.Fifth()
	if now, has := page.Fifth(); had && has && now != fifth {
		return true
	}
	return page.Dominant() && !sheet.Dominant() && !sheet.Tones.Has(theory.Degree{Number: 3, Alter: -1}) && sheet.Tones.Has(theory.Degree{Number: 7})
}

// allows tells whether a chord bears a note of the tune: as one of its own, or as
// a tension of its kind. A substitute dominant bears 1 9 3 ♯11 5 13 ♭7, a
// diminished chord its own notes and whole steps above them, a dominant that falls
// a fifth any alteration; others what lies a whole step above a chord tone. Source:
// see the test of tensions in package harmony.
func allows(ch, next theory.Chord, class int) bool {
	if ch.HasClass(class) {
		return true
	}
	has := func(number, alter int8) bool { return ch.Tones.Has(theory.Degree{Number: number, Alter: alter}) }
	d := up(ch.Root.Class(), class)
	is := func(ds ...int) bool {
		for _, x := range ds {
			if x == d {
				return true
			}
		}
		return false
	}
	switch {
	case ch.Dominant() && !has(3, 0): // suspended
		return is(2, 7, 9)
	case ch.Dominant():
		if !next.Silent() && up(ch.Root.Class(), next.Root.Class()) == 5 {
			return is(1, 2, 3, 6, 7, 8, 9)
		}
		return is(2, 6, 7, 9)
	case ch.Diminished() && !has(7, -1):
		return is(2, 5, 8, 9, 11)
	case ch.Diminished():
		return is(2, 5, 8)
	case ch.MinorThird():
		return is(2, 5, 7, 9, 10) && !(d == 10 && has(6, 0))
	case has(5, 1):
		return is(2, 6, 10)
	case has(3, 0):
		return is(2, 6, 7, 9, 11)
	case has(4, 0), has(2, 0):
		return is(2, 7, 9, 10)
	}
	return is(2, 3, 4, 7, 9)
}

// bassLine hears the lowest notes: against the tune, and beside those that the
// sheet prints.
func (e *ear) bassLine() {
	e.printed()
	beats := func(at theory.Dur) theory.Dur { return e.bar(at).Meter.BeatDur() }
	e.of(BassNinth, len(e.sung))
	for _, n := range e.sung {
		for at := n.at; at < n.end; {
			held := e.sounding(at)
			next := n.end
			for _, m := range e.notes { // the next moment at which the bass may change
				if m.at > at && m.at < next {
					next = m.at
					break
				}
				if m.at >= next {
					break
				}
			}
			low := held[0]
			if low.melody < 0 && low.hand != n.hand && up(low.key, n.key) == 1 {
				overlap := min(low.end, n.end) - at
				struck := n.at == at && e.strength(at) <= 1
				if (overlap >= beats(at) || struck && 2*overlap >= beats(at)) && !e.bassExcused(low, n, at) {
					e.mark(BassNinth, at, fmt.Sprintf("%s over %s", e.name(n), e.name(low)))
					break
				}
			}
			at = next
		}
	}
}

// bassExcused tells whether a note of the tune a half step above the bass is the ♭9
// of a dominant that falls a fifth, or the sheet's own: its note over its bass.
func (e *ear) bassExcused(low, n note, at theory.Dur) bool {
	if i := in(e.chords, at); i >= 0 && i+1 < len(e.chords) {
		c, next := e.chords[i].chord, e.chords[i+1].chord
		if c.Dominant() && low.key%12 == c.Root.Class() && !next.Silent() && up(c.Root.Class(), next.Root.Class()) == 5 {
			return true
		}
	}
	sheet := chordAt(e.sheet, at)
	return !sheet.Silent() && low.key%12 == sheet.Lowest().Class() && at >= e.song.Melody[n.melody].At
}

// printed compares the page's lowest notes with the basses of the sheet: slash
// basses, and basses that go three or more steps in one direction. A chord counts
// where it begins; on a page that leaves chords out (level 1), where the page has it.
func (e *ear) printed() {
	for i, c := range e.sheet {
		if c.chord.Silent() || e.pickup(c.at) {
			continue
		}
		slash, line := c.chord.Slash && c.chord.Bass.Class() != c.chord.Root.Class(), e.stepwise(i)
		if !slash && !line {
			continue
		}
		k := in(e.chords, c.at)
		if k < 0 || e.chords[k].chord.Silent() {
			continue
		}
		if e.of(Dropped, 1); e.dropped(i) {
			e.mark(Dropped, c.at, c.chord.String())
			continue
		}
		page := e.chords[k].chord
		code := StepBass
		if slash {
			code = SlashBass
			e.of(OtherSymbol, 1)
			if page.Lowest().Class() != c.chord.Bass.Class() {
				e.mark(OtherSymbol, c.at, fmt.Sprintf("%s under %s", page, c.chord))
			}
		}
		e.of(code, 1)
		low, ok := e.lowestOf(c.at)
		if !ok || low.key%12 != c.chord.Lowest().Class() {
			e.mark(code, c.at, fmt.Sprintf("%s has %s", c.chord, e.heard(low, ok)))
		}
	}
}

// dropped tells whether the page leaves a chord of the sheet out: the one before it
// lasts.
func (e *ear) dropped(i int) bool {
	at := e.sheet[i].at
	k := in(e.chords, at)
	return k >= 0 && e.chords[k].at < at && e.chords[k].chord.Root != e.sheet[i].chord.Root
}

func (e *ear) heard(n note, ok bool) string {
	if !ok {
		return "no bass"
	}
	return e.name(n)
}

// pickup tells whether a position lies in a pick-up, which is the tune's alone.
func (e *ear) pickup(at theory.Dur) bool { return e.bar(at).Pickup }

// lowestOf returns the left hand's lowest note at a position, the tune's not.
func (e *ear) lowestOf(at theory.Dur) (note, bool) {
	for _, n := range e.sounding(at) {
		if n.melody < 0 {
			return n, true
		}
	}
	return note{}, false
}

// stepwise tells whether a chord of the sheet stands in a row of three or more
// whose basses go by step in one direction.
func (e *ear) stepwise(i int) bool {
	dir := func(k int) int { // from chord k to the next
		if k < 0 || k+1 >= len(e.sheet) || e.sheet[k].chord.Silent() || e.sheet[k+1].chord.Silent() || e.sheet[k].end != e.sheet[k+1].at {
			return 0
		}
		switch up(e.sheet[k].chord.Lowest().Class(), e.sheet[k+1].chord.Lowest().Class()) {
		case 1, 2:
			return 1
		case 10, 11:
			return -1
		}
		return 0
	}
	same := func(a, b int) bool { return a != 0 && a == b }
	return same(dir(i), dir(i+1)) || same(dir(i-1), dir(i)) || same(dir(i-2), dir(i-1))
}
