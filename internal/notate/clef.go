package notate

import (
	"cmp"
	"math"
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
// dearer within a bar; changes only at beats that no note is held across, only
// to a clef in which the hand then stays (stay), never in the last bar, and in the right hand
// never under a slur.
// Dynamic programming over beats and two clefs, linear: from the place of a
// change the way goes on where the stay ends. Where the score says itself where
// a staff changes its clef, that is obeyed and nothing is chosen. The prices are
// our own tuning, the stay common practice, no source.
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

// slot is a beat, as the choice of clefs sees it. Of each clef: cost is that of
// the ledger lines in it, near tells whether a note has three or fewer.
type slot struct {
	at, end theory.Dur
	bar     theory.Dur // length of a whole bar here
	change  int        // price of a change at its start; −1 forbidden
	cost    [BassClef + 1]int
	near    [BassClef + 1]bool
	high    int // its highest note, 0 where there is none
}

// The right hand changes for the bass clef only where it goes and stays far below: no note of
// the two bars is above middle C, which both clefs have on one line, and more of each is below
// F3, the third line under the staff, than is not.
const (
	middleC  = 28 // diatonic position
	lowRight = 23 // E3
)

// sunk tells whether the right hand is that low in the bar from the j-th slot on.
func sunk(slots []slot, j int) bool {
	low := theory.Dur(0)
	for k := j; k < len(slots) && slots[k].at < slots[j].at+slots[j].bar; k++ {
		switch s := &slots[k]; {
		case s.high > middleC:
			return false
		case s.high > lowRight:
			low -= s.end - s.at
		case s.high > 0:
			low += s.end - s.at
		}
	}
	return low > 0
}

// stay returns the slot until which a clef must last that begins at the j-th,
// and whether it may begin there at all. The hand stays for two bars if the clef
// is better in each of them, or for one if all its notes have more than three
// ledger lines in the other clef. Back in its usual clef it may rest, and one
// bar is enough at the end of the piece. The right hand of two (right) is away for two bars
// at least, sunk in both.
func stay(slots []slot, j int, c, usual Clef, right bool) (end int, ok bool) {
	window := func(from int, at theory.Dur) (end, gain int, far, whole bool) {
		far = true
		for end = from; end < len(slots) && slots[end].at < at; end++ {
			s := &slots[end]
			gain += s.cost[3-c] - s.cost[c]
			far = far && !s.near[3-c]
		}
		return end, gain, far, slots[end-1].end >= at
	}
	at, bar := slots[j].at, slots[j].bar
	one, gain, far, whole := window(j, at+bar)
	if !whole || gain < 0 || gain == 0 && c != usual {
		return 0, false
	}
	away := right && c != usual
	if away && !sunk(slots, j) {
		return 0, false
	}
	if far && gain > 0 && !away {
		return one, true
	}
	if one == len(slots) {
		return one, c == usual
	}
	two, more, _, whole := window(one, at+2*bar)
	if c == usual {
		return two, more >= 0
	}
	return two, whole && more > 0 && (!away || sunk(slots, one))
}

func (w *writer) clefsOf(staff score.Hand) {
	notes := w.heldOn(staff)
	if len(notes) == 0 {
		return
	}
	var slots []slot
	for i, b := range w.Source.Bars {
		m := metreOf(b.Meter)
		off := b.Offset(b.At)
		for at := off; at < off+b.Dur; {
			end := min((floorDiv(at, m.beat)+1)*m.beat, off+b.Dur)
			s := slot{at: at - off + b.At, end: end - off + b.At, bar: max(b.Dur, b.Meter.Bar()), change: clefAtBeat}
			switch {
			case i == len(w.Source.Bars)-1:
				s.change = -1
			case at == off || m.level(at) == levelBar:
				s.change = clefAtBar
			case m.level(at) == levelStrong:
				s.change = clefAtStrong
			}
			slots = append(slots, s)
			at = end
		}
	}
	right := staff == score.Right && w.Staves == 2
	if right {
		for _, r := range w.slurred(staff) {
			k, _ := slices.BinarySearchFunc(slots, r.a+1, func(s slot, at theory.Dur) int { return cmp.Compare(s.at, at) })
			for ; k < len(slots) && slots[k].at <= r.b; k++ {
				slots[k].change = -1
			}
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
				s.near[c] = s.near[c] || max(l, -l) <= 3
				if c != w.Clefs[staff-1] {
					s.cost[c] += clefOther * d
				}
			}
			s.high = max(s.high, n.pos)
			if n.at < s.at {
				s.change = -1
			}
		}
	}
	// best[j][c] is the least cost before slot j, free to change from c there;
	// from[j][c] is where the way to it changed to c, −1 if it did not since the
	// slot before. A tie keeps the clef, so that changes come as late as they can.
	usual := w.Clefs[staff-1]
	const never = math.MaxInt / 2
	best := make([][BassClef + 1]int, len(slots)+1)
	from := make([][BassClef + 1]int, len(slots)+1)
	for j := range best {
		for c := range best[j] {
			best[j][c], from[j][c] = never, -1
		}
	}
	best[0][usual] = 0
	if _, ok := stay(slots, 0, 3-usual, usual, right); ok || !right {
		best[0][3-usual] = clefAtBar / 2 * int(theory.Quarter)
	}
	for j, s := range slots {
		for _, c := range []Clef{Treble, BassClef} {
			if v := best[j][c] + s.cost[c]; v <= best[j+1][c] {
				best[j+1][c], from[j+1][c] = v, -1
			}
			if j == 0 || s.change < 0 {
				continue
			}
			if end, ok := stay(slots, j, c, usual, right); ok {
				v := best[j][3-c] + s.change*int(theory.Quarter)
				for k := j; k < end; k++ {
					v += slots[k].cost[c]
				}
				if v < best[end][c] {
					best[end][c], from[end][c] = v, j
				}
			}
		}
	}
	c, j := usual, len(slots)
	if best[j][3-c] < best[j][c] {
		c = 3 - c
	}
	var changes []ClefChange
	for j > 0 {
		if from[j][c] < 0 {
			j--
			continue
		}
		j = from[j][c]
		changes = append(changes, ClefChange{slots[j].at, staff, c})
		c = 3 - c
	}
	w.Clefs[staff-1] = c
	slices.Reverse(changes)
	for _, ch := range changes {
		w.addClef(ch)
	}
}

// slurred lists what of a staff's time is under slurs, from the first note of each to the
// beginning of its last.
func (w *writer) slurred(staff score.Hand) (out []reach) {
	type line struct {
		hand  score.Hand
		voice uint8
	}
	open := map[line][]theory.Dur{}
	for _, n := range w.Source.Notes {
		l := line{n.Hand, n.Voice}
		if from := open[l]; n.Marks.Has(score.SlurTo) && len(from) > 0 {
			open[l] = from[:len(from)-1]
			if w.staffOf(n) == staff {
				out = append(out, reach{from[len(from)-1], n.At})
			}
		}
		if n.Marks.Has(score.SlurFrom) {
			open[l] = append(open[l], n.At)
		}
	}
	return out
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
