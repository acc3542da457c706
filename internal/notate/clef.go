package notate

import (
	"slices"
	"sort"

	"gradatim/score"
	"gradatim/theory"
)

// held is a note as a staff sees it.
type held struct {
	at, end theory.Dur
	pos     int // diatonic position as it sounds
}

// heldOn lists the printed notes of a staff in time order.
func (w *writer) heldOn(staff score.Hand) []held {
	var out []held
	for i, n := range w.Source.Notes {
		if n.Grace == 0 && w.noteIDs[i] != "" && !n.Marks.Has(score.Hidden) && n.Dur > 0 &&
			n.At >= 0 && n.At < w.Source.End() && w.staffOf(n) == staff {
			out = append(out, held{n.At, n.End(), n.Pitch.Staff()})
		}
	}
	return out
}

// ledgers counts the ledger lines of a position under a clef: positive above
// the staff, negative below.
func ledgers(pos int, c Clef) int {
	d := pos - c.middle()
	if d < 0 {
		return -max(0, (-d-4)/2)
	}
	return max(0, (d-4)/2)
}

// Costs of a clef, in ledger lines squared × quarters.
const (
	clefAtBar    = 12 // a change at a bar line
	clefAtStrong = 18 // in the middle of the bar
	clefAtBeat   = 26
	clefOther    = 1 // per quarter under the unusual clef
)

// chooseClefs finds the clefs of each staff.
//
// Problem: a hand that stays far from its staff drowns in ledger lines, and a
// hand that visits should not be sent to another clef and back. Objective: the
// least sum of squared ledger lines over time plus a price for each change,
// dearer within a bar; changes only at beats that no note is held across.
// Dynamic programming over beats and two clefs, linear. Where the score says
// itself where a staff changes its clef, that is obeyed and nothing is chosen.
// The prices are our own tuning, no source.
func (w *writer) chooseClefs() {
	w.Clefs = [2]Clef{Treble, BassClef}
	for _, staff := range w.hands() {
		if !w.givenClefs(staff) {
			w.clefsOf(staff)
		}
	}
}

func (w *writer) givenClefs(staff score.Hand) bool {
	given := false
	for _, d := range w.Source.Directions {
		if d.Kind != score.ClefTreble && d.Kind != score.ClefBass || w.signStaff(d.Hand) != staff {
			continue
		}
		c := Treble
		if d.Kind == score.ClefBass {
			c = BassClef
		}
		given = true
		if d.At <= 0 {
			w.Clefs[staff-1] = c
		} else if w.clefAt(staff, d.At) != c && d.At < w.Source.End() {
			w.addClef(ClefChange{d.At, staff, c})
		}
	}
	return given
}

func (w *writer) addClef(c ClefChange) {
	b := &w.Bars[w.Source.BarAt(c.At)]
	b.Clefs = append(b.Clefs, c)
	w.clefs[c.Staff] = append(w.clefs[c.Staff], c)
}

func (w *writer) clefsOf(staff score.Hand) {
	notes := w.heldOn(staff)
	if len(notes) == 0 {
		return
	}
	type slot struct {
		at, end theory.Dur
		change  int               // price of a change at its start; −1 forbidden
		cost    [BassClef + 1]int // of each clef during it
	}
	var slots []slot
	for _, b := range w.Source.Bars {
		m := metreOf(b.Meter)
		off := pickup(b)
		for at := off; at < off+b.Dur; {
			end := min((floorDiv(at, m.beat)+1)*m.beat, off+b.Dur)
			s := slot{at: at - off + b.At, end: end - off + b.At, change: clefAtBeat}
			switch {
			case at == off || m.level(at) == levelBar:
				s.change = clefAtBar
			case m.level(at) == levelStrong:
				s.change = clefAtStrong
			}
			slots = append(slots, s)
			at = end
		}
	}
	k := 0
	for _, n := range notes {
		for slots[k].end <= n.at {
			k++
		}
		for j := k; j < len(slots) && slots[j].at < n.end; j++ {
			s := &slots[j]
			d := int(min(n.end, s.end) - max(n.at, s.at))
			for _, c := range []Clef{Treble, BassClef} {
				l := ledgers(n.pos, c)
				s.cost[c] += l * l * d
				if c != w.Clefs[staff-1] {
					s.cost[c] += clefOther * d
				}
			}
			if n.at < s.at {
				s.change = -1
			}
		}
	}
	// from[j][c] is the clef before slot j on the best way to c in it; a tie
	// keeps the clef, so that changes come as late as they can.
	from := make([][BassClef + 1]Clef, len(slots))
	var best [BassClef + 1]int
	best[3-w.Clefs[staff-1]] = clefAtBar / 2 * int(theory.Quarter)
	for j, s := range slots {
		next := best
		for _, c := range []Clef{Treble, BassClef} {
			from[j][c] = c
			if j > 0 && s.change >= 0 {
				if v := best[3-c] + s.change*int(theory.Quarter); v < best[c] {
					next[c], from[j][c] = v, 3-c
				}
			}
			next[c] += s.cost[c]
		}
		best = next
	}
	c := w.Clefs[staff-1]
	if best[3-c] < best[c] {
		c = 3 - c
	}
	var changes []ClefChange
	for j := len(slots) - 1; j >= 0; j-- {
		if before := from[j][c]; before != c {
			changes = append(changes, ClefChange{slots[j].at, staff, c})
			c = before
		}
	}
	w.Clefs[staff-1] = c
	slices.Reverse(changes)
	for _, ch := range changes {
		w.addClef(ch)
	}
}

// clefAt returns the clef in force for notes that begin at a moment.
func (w *writer) clefAt(staff score.Hand, at theory.Dur) Clef {
	list := w.clefs[staff]
	i := sort.Search(len(list), func(i int) bool { return list[i].At > at })
	if i == 0 {
		return w.Clefs[staff-1]
	}
	return list[i-1].Clef
}

// Where 8va helps: notes with more than octaveLedgers ledger lines for at least
// octaveBeats beats (common practice, no source), together with their neighbours
// of octaveJoins lines or more.
const (
	octaveLedgers = 3
	octaveJoins   = 2
	octaveBeats   = 2
)

// chooseOctaves puts 8va lines over stretches that lie too high. Where the score
// brings its own for a staff, those are used.
func (w *writer) chooseOctaves() {
	for _, staff := range w.hands() {
		if w.givenOctaves(staff) {
			continue
		}
		notes := w.heldOn(staff)
		lines := func(n held) int {
			if w.clefAt(staff, n.at) != Treble {
				return 0
			}
			return ledgers(n.pos, Treble)
		}
		sounding := theory.Dur(0) // until when a note before the i-th is held
		for i := 0; i < len(notes); {
			if lines(notes[i]) < octaveJoins {
				sounding = max(sounding, notes[i].end)
				i++
				continue
			}
			// The stretch: from here on while every onset has a high note.
			r := reach{notes[i].at, notes[i].end}
			high, low, j := theory.Dur(0), notes[i].pos, i
			covered := r.a
			for ; j < len(notes); j++ {
				if notes[j].at >= r.b && lines(top(notes, j)) < octaveJoins {
					break
				}
				n := notes[j]
				r.b = max(r.b, n.end)
				low = min(low, n.pos)
				if lines(n) > octaveLedgers && n.end > covered {
					high += n.end - max(n.at, covered)
					covered = n.end
				}
			}
			// Notes that begin with the first one, or are held into it, count too.
			fits := true
			for k := 0; k < i && sounding > r.a; k++ {
				if notes[k].end > r.a {
					fits = fits && notes[k].at == r.a
					low = min(low, notes[k].pos)
				}
			}
			beat := w.Source.Bars[w.Source.BarAt(r.a)].Meter.BeatDur()
			if fits && high >= octaveBeats*beat && low-7 >= Treble.middle()-6 {
				w.octaves[staff] = append(w.octaves[staff], r)
			}
			for ; i < j; i++ {
				sounding = max(sounding, notes[i].end)
			}
		}
	}
}

// top returns the highest of the notes that begin with the j-th.
func top(notes []held, j int) held {
	t := notes[j]
	for k := j; k < len(notes) && notes[k].at == notes[j].at; k++ {
		if notes[k].pos > t.pos {
			t = notes[k]
		}
	}
	return t
}

func (w *writer) givenOctaves(staff score.Hand) bool {
	given, open := false, theory.Dur(-1)
	for _, d := range w.Source.Directions {
		if w.signStaff(d.Hand) != staff {
			continue
		}
		switch d.Kind {
		case score.OctaveUp:
			given = true
			if open < 0 {
				open = max(d.At, 0)
			}
		case score.OctaveEnd:
			if open >= 0 && d.At > open {
				w.octaves[staff] = append(w.octaves[staff], reach{open, min(d.At, w.Source.End())})
			}
			open = -1
		}
	}
	if open >= 0 && open < w.Source.End() {
		w.octaves[staff] = append(w.octaves[staff], reach{open, w.Source.End()})
	}
	return given
}

// position returns where a pitch stands on its staff at a moment: the diatonic
// position as written, an octave lower under an 8va line.
func (w *writer) position(staff score.Hand, at theory.Dur, p theory.Pitch) int {
	rs := w.octaves[staff]
	i := sort.Search(len(rs), func(i int) bool { return rs[i].b > at })
	if i < len(rs) && rs[i].a <= at {
		return p.Staff() - 7
	}
	return p.Staff()
}
