package notate

import (
	"cmp"
	"slices"

	"gradatim/score"
	"gradatim/theory"
)

// chord is a set of notes of one hand that begin and end together: they share a
// stem.
type chord struct {
	at, end theory.Dur
	notes   []int // indexes into the score's notes, by height
	graces  []int // in order
	height  int   // sum of MIDI numbers
	written []place
}

func (c *chord) lower(than *chord) bool {
	return c.height*len(than.notes) < than.height*len(c.notes)
}

// lane is a voice of a hand over the whole piece: chords that do not overlap.
type lane struct {
	hand   score.Hand
	number int
	hidden bool
	chords []*chord
}

func (l *lane) free(at theory.Dur) bool {
	return len(l.chords) == 0 || l.chords[len(l.chords)-1].end <= at
}

// lanesOf sorts the notes of one hand into voices.
//
// Problem: a score's voice may hold notes that no stem can share (a bass held
// under moving notes), and print needs voices in which one chord follows
// another. orphans are grace notes before nothing. Objective: keep the voice that a note has; where two overlap, put
// the higher into voice 1 and the lower into voice 2, moving as few as
// possible. Greedy in time order, one look back: O(n log n). Rejected: an
// optimal colouring of the whole piece, since it moves notes far from the
// place where they collide.
func lanesOf(s score.Score, hand score.Hand, hidden bool, notes []int) (lanes []*lane, orphans []int) {
	var chords []*chord
	voice := map[*chord]uint8{}
	type key struct {
		at, end theory.Dur
		voice   uint8
	}
	open := map[key]*chord{}
	graces := map[key][]int{}
	for _, i := range notes {
		n := s.Notes[i]
		if n.Grace > 0 {
			k := key{at: n.At, voice: n.Voice}
			graces[k] = append(graces[k], i)
			continue
		}
		k := key{n.At, n.End(), n.Voice}
		c := open[k]
		if c == nil || c.holds(s, n.Pitch) { // a unison needs a stem of its own
			c = &chord{at: n.At, end: n.End()}
			open[k] = c
			chords = append(chords, c)
			voice[c] = n.Voice
		}
		c.notes = append(c.notes, i)
		c.height += n.Pitch.MIDI()
	}
	for _, c := range chords {
		slices.SortStableFunc(c.notes, func(a, b int) int {
			return theory.ComparePitch(s.Notes[a].Pitch, s.Notes[b].Pitch)
		})
		k := key{at: c.at, voice: voice[c]}
		c.graces = graces[k]
		delete(graces, k)
		slices.SortStableFunc(c.graces, func(a, b int) int {
			return cmp.Or(cmp.Compare(s.Notes[a].Grace, s.Notes[b].Grace),
				theory.ComparePitch(s.Notes[a].Pitch, s.Notes[b].Pitch))
		})
	}
	slices.SortStableFunc(chords, func(a, b *chord) int {
		return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(voice[a], voice[b]))
	})
	orphans = adopt(s, chords, notes)

	at := func(number int) *lane {
		for len(lanes) < number {
			lanes = append(lanes, &lane{hand: hand, number: len(lanes) + 1, hidden: hidden})
		}
		return lanes[number-1]
	}
	for _, c := range chords {
		l := at(max(1, int(voice[c])))
		if l.free(c.at) {
			l.chords = append(l.chords, c)
			continue
		}
		before := l.chords[len(l.chords)-1]
		switch {
		case l.number == 1 && before.lower(c) && at(2).free(before.at),
			l.number == 2 && c.lower(before) && at(1).free(before.at):
			l.chords[len(l.chords)-1] = c
			to := at(3 - l.number)
			to.chords = append(to.chords, before)
			continue
		case l.number <= 2 && before.lower(c) == (l.number == 2) && at(3-l.number).free(c.at):
			to := at(3 - l.number)
			to.chords = append(to.chords, c)
			continue
		}
		n := 3
		for !at(n).free(c.at) {
			n++
		}
		at(n).chords = append(at(n).chords, c)
	}
	reunite(s, lanes)
	return lanes, orphans
}

// reunite gives back to the main voice what stands alone in the second: a run of
// chords, one following the other, while the main voice is silent needs no
// stems of its own. A beat that the main voice divides stays its own, since two
// divisions might not go together.
func reunite(s score.Score, lanes []*lane) {
	if len(lanes) < 2 {
		return
	}
	main, second := lanes[0], lanes[1]
	var alone, left []*chord
	k := 0
	for i := 0; i < len(second.chords); {
		j := i + 1
		for j < len(second.chords) && second.chords[j].at == second.chords[j-1].end {
			j++
		}
		for k < len(main.chords) && main.chords[k].end <= second.chords[i].at {
			k++
		}
		at, end := second.chords[i].at, second.chords[j-1].end
		silent := k == len(main.chords) || main.chords[k].at >= end
		if lo, hi := beatAround(s, at); silent && at != lo {
			silent = (k == 0 || main.chords[k-1].end <= lo) && (k == len(main.chords) || main.chords[k].at >= hi)
		}
		if lo, hi := beatAround(s, end); silent && end != lo {
			silent = (k == 0 || main.chords[k-1].end <= lo) && (k == len(main.chords) || main.chords[k].at >= hi)
		}
		if silent {
			alone = append(alone, second.chords[i:j]...)
		} else {
			left = append(left, second.chords[i:j]...)
		}
		i = j
	}
	if len(alone) == 0 {
		return
	}
	second.chords = left
	main.chords = append(main.chords, alone...)
	slices.SortStableFunc(main.chords, func(a, b *chord) int { return cmp.Compare(a.at, b.at) })
}

// beatAround returns the beat that a moment lies in.
func beatAround(s score.Score, at theory.Dur) (lo, hi theory.Dur) {
	b := s.Bars[s.BarAt(at)]
	beat := metreOf(b.Meter).beat
	shift := b.Offset(0)
	lo = floorDiv(at+shift, beat)*beat - shift
	return max(lo, b.At), min(lo+beat, b.End())
}

func (c *chord) holds(s score.Score, p theory.Pitch) bool {
	return slices.ContainsFunc(c.notes, func(i int) bool { return s.Notes[i].Pitch == p })
}

// adopt gives grace notes that stand before no chord of their own voice to the
// first chord that begins with or after them, and returns those before none.
func adopt(s score.Score, chords []*chord, notes []int) (orphans []int) {
	owned := map[int]bool{}
	for _, c := range chords {
		for _, g := range c.graces {
			owned[g] = true
		}
	}
	for _, i := range notes {
		n := s.Notes[i]
		if n.Grace == 0 || owned[i] {
			continue
		}
		j := slices.IndexFunc(chords, func(c *chord) bool { return c.at >= n.At })
		if j < 0 {
			orphans = append(orphans, i)
			continue
		}
		chords[j].graces = append(chords[j].graces, i)
	}
	return orphans
}
