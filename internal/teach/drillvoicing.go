package teach

import (
	"cmp"
	"slices"

	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// Voicing the chords of a drill.
//
// Problem: a drill that asks to play and name a chord must sound what the symbol
// promises, in a shape that a hand takes, and lead from chord to chord. Source:
// common practice, no source. Objective: all promised degrees over the root; the
// right hand at most three notes where the left can take one; fingers at ease; the
// least movement; a voice that the technique is about moves in its own place.
// Method: for each chord in turn all close and open placings of its degrees, with
// none or one of them in the left hand, cheapest first; the first that the audit
// passes. Cost: a few hundred placings a chord, and the audit once or twice.
// Rejected: three notes in the right hand whatever the symbol says, which leaves
// out what the drill is for.

// promised lists the degrees that a chord symbol promises over its root: third,
// seventh or sixth, and every altered or added degree. A plain fifth promises
// nothing, nor does the ninth that a plain eleventh or thirteenth stands on.
func promised(c theory.Chord) []theory.Degree {
	_, seventh := c.Seventh()
	has := func(n int8) bool { return c.Tones.Has(theory.Degree{Number: n}) }
	var out []theory.Degree
	for d := range c.Tones.All() {
		switch {
		case d.Number == 1, d == theory.Degree{Number: 5}:
		case d == theory.Degree{Number: 9} && seventh && (has(11) || has(13)):
		case d == theory.Degree{Number: 11} && seventh && has(13) && has(3):
		default:
			out = append(out, d)
		}
	}
	return over(c, out)
}

// over sorts degrees upwards from the root. Over a slash bass the root is one of
// them, and what the bass plays is not.
func over(c theory.Chord, ds []theory.Degree) []theory.Degree {
	if c.Slash {
		ds = append(ds, theory.Degree{Number: 1})
	}
	ds = slices.DeleteFunc(ds, func(d theory.Degree) bool { return c.Slash && d.On(c.Root).Class() == c.Bass.Class() })
	slices.SortStableFunc(ds, func(a, b theory.Degree) int { return a.Class() - b.Class() })
	return slices.CompactFunc(ds, func(a, b theory.Degree) bool { return a.Class() == b.Class() })
}

// upperOf is what is played of a chord over its root: what it promises, and the
// fifth where that is less than three notes.
func upperOf(c theory.Chord) []theory.Degree {
	out := promised(c)
	if d, ok := c.Fifth(); ok && len(out) < 3 {
		out = over(c, append(out, d))
	}
	return out
}

// guidesOf is third and seventh alone.
func guidesOf(c theory.Chord) []theory.Degree {
	var out []theory.Degree
	if d, ok := c.Third(); ok {
		out = append(out, d)
	}
	if d, ok := c.Seventh(); ok {
		out = append(out, d)
	}
	return over(c, out)
}

// fullOf is what is promised, filled up to four notes with fifth and root.
func fullOf(c theory.Chord) []theory.Degree {
	out := promised(c)
	fill := []theory.Degree{{Number: 1}}
	if d, ok := c.Fifth(); ok {
		fill = []theory.Degree{d, {Number: 1}}
	}
	for _, d := range fill {
		if len(out) < 4 {
			out = over(c, append(out, d))
		}
	}
	return out
}

// stretch is one chord of a progression and how long it lasts.
type stretch struct {
	chord theory.Chord
	dur   theory.Dur
	plus  []theory.Degree  // also sounded
	leads [][2]theory.Name // voices of the right hand that come from the chord before
	fresh bool             // begins anew, not from the chord before
}

// shape is one way to play a chord over its bass.
type shape struct {
	left, right []theory.Pitch
	cost        int
}

// voiced writes a progression: the bass and at most one more note in the left
// hand, the rest in the right, most of them or fewer where that can be. It fails
// where one chord has no placing that the audit passes.
func (d *sheet) voiced(ps []stretch, pick func(theory.Chord) []theory.Degree, most int) bool {
	at := theory.Dur(0)
	var before shape
	low := 0
	for _, p := range ps {
		if p.fresh {
			before, low = shape{}, 0
		}
		b := d.bass(p.chord, low)
		low = b.MIDI()
		d.chord(at, p.chord)
		notes := len(d.notes)
		ok := false
		ds := over(p.chord, append(pick(p.chord), p.plus...))
		for _, s := range d.shapes(p, b, ds, before, most) {
			d.notes = d.notes[:notes]
			d.add(score.Left, at, p.dur, append([]theory.Pitch{b}, s.left...)...)
			d.add(score.Right, at, p.dur, s.right...)
			if d.clean() {
				before, ok = s, true
				break
			}
		}
		if !ok {
			return false
		}
		at += p.dur
	}
	return true
}

// Costs of a shape, beside the half steps that the voices move.
const (
	costBeyond  = 40  // for each note that the right hand has over its share
	costStretch = 30  // a hand not at ease
	costLost    = 200 // a voice that should lead on and does not
	costTop     = 6   // third or seventh on top, where the tune would be, in full chords
	lowestThird = 48  // C3: below it a third in the left hand growls
)

// costSecond is what a half step and a whole step within the right hand cost.
var costSecond = [...]int{1: 8, 2: 5, 3: 0}

// costGiven is what it costs to give a degree to the left hand, by its number: the
// seventh makes a shell, the others sound less plain. A tension stays in the right.
var costGiven = map[int8]int{7: 10, 6: 12, 3: 14, 5: 14, 1: 16}

// shapes lists the placings of a chord over a bass, best first.
func (d *sheet) shapes(p stretch, bass theory.Pitch, ds []theory.Degree, before shape, most int) []shape {
	var out []shape
	try := func(left []theory.Pitch, rest []theory.Degree, cost int) {
		keys := []int{bass.MIDI()}
		for _, q := range left {
			keys = append(keys, q.MIDI())
		}
		switch {
		case !d.w.hand.Reaches(score.Left, keys):
			return
		case !d.w.hand.Comfortable(score.Left, keys):
			cost += costStretch
		}
		cost += costBeyond * max(0, len(rest)-most)
		for _, order := range orders(rest) {
			for _, v := range technique.Placements(p.chord.Root, order, 57, 81, 14, 0) {
				s := shape{left, v.Pitches, cost}
				if d.weigh(&s, p, keys[len(keys)-1], before, most) {
					out = append(out, s)
				}
			}
		}
	}
	try(nil, ds, 0)
	for i, x := range ds {
		cost, ok := costGiven[x.Number]
		if len(ds) < 2 || !ok {
			continue
		}
		if len(ds) <= most {
			cost += costBeyond / 2
		}
		rest := slices.Delete(slices.Clone(ds), i, i+1)
		q := x.On(p.chord.Root).Above(bass.MIDI() + 1)
		for _, q := range []theory.Pitch{q, {Name: q.Name, Octave: q.Octave + 1}} {
			if q.MIDI()-bass.MIDI() > 4 || bass.MIDI() >= lowestThird {
				try([]theory.Pitch{q}, rest, cost)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b shape) int { return cmp.Compare(a.cost, b.cost) })
	return out
}

// weigh adds what the right hand of a shape costs; false where no hand takes it.
func (d *sheet) weigh(s *shape, p stretch, under int, before shape, most int) bool {
	var keys []int
	for i, q := range s.right {
		keys = append(keys, q.MIDI())
		if i > 0 {
			s.cost += costSecond[min(keys[i]-keys[i-1], 3)]
		}
	}
	if len(keys) == 0 || keys[0] <= under {
		return false
	}
	switch {
	case !d.w.hand.Reaches(score.Right, keys):
		return false
	case !d.w.hand.Comfortable(score.Right, keys):
		s.cost += costStretch
	}
	s.cost += far(before.right, s.right)
	if third, ok := p.chord.Third(); ok && most > 3 {
		seventh, _ := p.chord.Seventh()
		if top := s.right[len(s.right)-1].Name; top == third.On(p.chord.Root) || top == seventh.On(p.chord.Root) {
			s.cost += costTop * 4
		}
	}
	for _, l := range p.leads {
		if !moves(before.right, s.right, l) {
			s.cost += costLost
		}
	}
	return true
}

// moves tells whether a voice goes from one name to the other by the shortest
// way.
func moves(from, to []theory.Pitch, l [2]theory.Name) bool {
	by := theory.NameInterval(l[0], l[1]).Semitones
	if by > 6 {
		by -= 12
	}
	for _, p := range from {
		for _, q := range to {
			if p.Name.Class() == l[0].Class() && q.Name.Class() == l[1].Class() && q.MIDI()-p.MIDI() == int(by) {
				return true
			}
		}
	}
	return false
}

// orders lists the ways to stack degrees: all of three notes, the close ones and
// those with one voice dropped of more.
func orders(ds []theory.Degree) [][]theory.Degree {
	switch len(ds) {
	case 0, 1, 2:
		return technique.Rotations(ds)
	case 3:
		a, b, c := ds[0], ds[1], ds[2]
		return [][]theory.Degree{{a, b, c}, {b, c, a}, {c, a, b}, {a, c, b}, {b, a, c}, {c, b, a}}
	}
	out := technique.Rotations(ds)
	for _, r := range technique.Rotations(ds) {
		k := len(r) - 2 // the second from the top goes to the bottom
		out = append(out, append([]theory.Degree{r[k]}, slices.Delete(slices.Clone(r), k, k+1)...))
	}
	return out
}

// far is how far a hand's notes move; without notes before, how far they lie from
// the middle of the right hand's range.
func far(before, now []theory.Pitch) int {
	if len(before) == 0 {
		return abs(now[0].MIDI()-62) * 2
	}
	sum := 0
	for i, p := range now {
		q := before[min(i, len(before)-1)]
		sum += abs(p.MIDI() - q.MIDI())
	}
	return sum
}
