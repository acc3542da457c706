package arrange

import (
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Slurs.
//
// Problem: say with slurs how a tune is joined. A song is joined as a singer breathes: over
// a line of two or four bars, to a rest, the end of a phrase or a note that is held. A dance is
// joined by the beat: two, three or four running notes, the others detached.
// Objective, for a song: each line of the tune between two rests is cut so that the sum of
// what slurs and unbroken breaths cost is least; it is quadratic in the notes of a line,
// and lines are short. Rejected: a slur closed as soon as a long note comes, which cuts
// a line of four bars into three and one; a slur for each bar. (Common practice, no
// source.)

// singing is a tune as slurs see it.
type singing struct {
	p      *piece
	s      *score.Score
	tune   []int // indexes of notes, in order
	graced map[theory.Dur]bool
	struck strikes
}

func (v *singing) at(i int) *score.Note { return &v.s.Notes[v.tune[i]] }

// slur joins the notes from ≤ i < to.
func (v *singing) slur(from, to int) {
	// A grace note's own slur ends on its main note: no other does.
	for to-from > 1 && v.graced[v.at(to-1).At] {
		to--
	}
	if to-from == 2 && v.at(from).Pitch == v.at(from+1).Pitch {
		return // it would be read as a tie
	}
	if to-from > 1 {
		v.at(from).Marks |= score.SlurFrom
		v.at(to - 1).Marks |= score.SlurTo
	}
}

// writeSlurs joins the notes of the tune as the kind has it. A detached note is in none.
func (p *piece) writeSlurs(s *score.Score) {
	if p.kind.Touch.Slurs == 0 {
		return
	}
	v := singing{p: p, s: s, struck: strikesOf(s)}
	v.tune, v.graced = tuneOf(s)
	first := map[int]bool{} // events that begin a phrase
	for _, ph := range p.an.Phrases {
		first[ph.From] = true
	}
	from := 0
	for i := 1; i <= len(v.tune); i++ {
		if i < len(v.tune) {
			before, n := v.at(i-1), v.at(i)
			event, _ := n.Origin.Event()
			k := s.BarAt(n.At)
			joint := p.song.Joint(k) && before.At < s.Bars[k].At // not over a sign for a repeat
			detached := before.Marks.Has(score.Staccato) || n.Marks.Has(score.Staccato)
			if before.End() == n.At && !first[event] && !joint && !detached {
				continue
			}
		}
		v.line(from, i)
		from = i
	}
}

// What a slur of a line costs, and what it costs that it goes on over a breath.
const (
	oneSlur    = 2
	shortSlur  = 5 // of a bar at most
	tooLong    = 12
	heldBreath = 6 // a note of three quarters of a bar and more
	restBreath = 3 // one of half a bar in the second or fourth bar of the line
)

// line cuts the notes from ≤ i < to, between which there is no rest, into slurs.
func (v *singing) line(from, to int) {
	n := to - from
	if n < 2 {
		return
	}
	least, cut := make([]int, n+1), make([]int, n+1)
	for j := 1; j <= n; j++ {
		least[j] = never
		breaths := 0
		for i := j - 1; i >= 0; i-- {
			if i+1 < j {
				breaths += v.breath(from, from+i)
			}
			long := v.length(from+i, from+j)
			if long > 4*tooLong {
				break
			}
			cost := least[i] + oneSlur + long + breaths
			if i > 0 && v.breath(from, from+i-1) == 0 {
				cost += heldBreath // a slur that ends where nobody breathes
			}
			if cost < least[j] {
				least[j], cut[j] = cost, i
			}
		}
	}
	for j := n; j > 0; j = cut[j] {
		v.slur(from+cut[j], from+j)
	}
}

// length is what the length of a slur costs. An upbeat belongs to the next bar.
func (v *singing) length(from, to int) int {
	bars := v.s.BarAt(v.at(to-1).At) - v.begins(from) + 1
	switch most := v.p.kind.Touch.Slurs; {
	case bars > most:
		return tooLong * (bars - most)
	case bars <= 1:
		return shortSlur
	}
	return 0
}

// begins is the bar in which a line begins.
func (v *singing) begins(i int) int {
	n := v.at(i)
	k := v.s.BarAt(n.At)
	if b := v.s.Bars[k]; b.Pickup || 2*(n.At-b.At) > b.Dur {
		k++
	}
	return k
}

// breath says how much a singer wants to breathe after a note of a line.
func (v *singing) breath(from, i int) int {
	n := v.at(i)
	k := v.s.BarAt(n.At)
	bar := v.s.Bars[k].Meter.Bar()
	switch {
	case 4*n.Dur >= 3*bar:
		return heldBreath
	case 2*n.Dur >= bar && (v.s.Bars[k].Meter.Beats%3 != 0 || v.s.Bars[k].Meter.Compound()) && (k-v.begins(from))%2 == 1:
		return restBreath
	}
	return 0
}

// writeGroups joins the running notes of a dance by the beat, and detaches what leaps
// out of them: of four notes all where they go by steps and thirds, else the first two; of
// three in a beat all, or two; of a pair both. What is struck again is not joined.
func (p *piece) writeGroups(s *score.Score) {
	if !p.kind.Touch.Groups {
		return
	}
	v := singing{p: p, s: s, struck: strikesOf(s)}
	v.tune, v.graced = tuneOf(s)
	for i := 0; i < len(v.tune); {
		n := v.at(i)
		bar := s.Bars[s.BarAt(n.At)]
		off := bar.Offset(n.At)
		size := group(bar.Meter, n.Dur)
		end := n.At - off%size + size
		j := i + 1
		for j < len(v.tune) && v.at(j).At < min(end, bar.End()) && v.at(j).At == v.at(j-1).End() && v.at(j).Dur <= size/2 {
			j++
		}
		if off%size == 0 && n.Dur < size {
			v.group(i, j, size, bar.Meter.Compound())
		} else if j-i == 2 && off%size == size/2 && !bar.Meter.Compound() {
			v.pair(i)
		}
		i = j
	}
}

// group is how long the notes last that go together where a note of some length stands.
func group(m leadsheet.Meter, d theory.Dur) theory.Dur {
	beat := m.BeatDur()
	switch {
	case m.Compound():
		return beat
	case d <= theory.Sixteenth:
		return theory.Quarter
	case m.Bar()%theory.Half == 0:
		return theory.Half
	}
	return theory.Quarter
}

// step is by how many half steps the tune moves after a note.
func (v *singing) step(i int) int { return abs(v.at(i+1).Pitch.MIDI() - v.at(i).Pitch.MIDI()) }

// group joins what it can of the notes from ≤ i < to, which begin a group.
func (v *singing) group(from, to int, size theory.Dur, compound bool) {
	n := to - from
	same, widest := false, 0
	for i := from; i+1 < to; i++ {
		same, widest = same || v.step(i) == 0, max(widest, v.step(i))
	}
	even := v.at(from).Dur == v.at(to-1).Dur
	switch {
	case n < 2:
	case compound && n == 3 && even:
		switch {
		case !same && widest <= 5:
			v.slur(from, to)
		case v.step(from) > 0 && v.step(from) <= 5:
			v.slur(from, from+2)
			v.detach(from + 2)
		}
	case compound: // a long and a short: the short one is light
		if v.at(to-1).Dur < v.at(from).Dur && n == 2 && (same || widest > 4) {
			v.detach(to - 1)
		}
	case n == 4 && even && !same && widest <= 4:
		v.slur(from, to)
	case n == 4 && even:
		v.pair(from)
		if v.step(from+2) > 0 && v.step(from+2) <= 2 {
			v.pair(from + 2)
		} else {
			v.detach(from + 2)
			v.detach(from + 3)
		}
	case v.at(from).Dur <= size/2:
		v.pair(from)
	}
}

// pair joins two notes where the second is no longer than the first, or else detaches none.
func (v *singing) pair(i int) {
	if d := v.step(i); d > 0 && d <= 7 && v.at(i+1).Dur <= v.at(i).Dur {
		v.slur(i, i+2)
	}
}

// detach makes a note short, where the level has signs for that.
func (v *singing) detach(i int) {
	n := v.at(i)
	if v.p.level.Touch && !v.graced[n.At] && n.Ornament == score.NoOrnament && !n.Marks.Has(score.Fermata) && !n.Marks.Has(score.SlurFrom) && !n.Marks.Has(score.SlurTo) {
		v.struck.mark(v.s, v.tune[i], score.Staccato)
	}
}
