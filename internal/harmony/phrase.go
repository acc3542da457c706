package harmony

import (
	"cmp"
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Phrase finding.
//
// Problem: cut the bars into phrases as a player breathes. Source: common
// practice, no source: phrases like to be four or eight bars, end where the tune
// rests and the harmony closes, and begin where the sheet begins something.
// Objective: the lowest sum, over the phrases, of what their length costs and
// what the boundary after each costs; a boundary costs less the more speaks for
// it. An exact dynamic programme over bar lines; a phrase holds at most maxBars
// bars, so the cost is linear. Of equal sums the one with the longest last phrase
// wins, then the longest before it. Rejected: cutting wherever a local sign is
// strong, which loses four-bar phrases that run on in even notes and finds breaths
// in every dotted rhythm.
//
// Odd forms need nothing special: 14 bars become what their boundaries say (4 4 6
// or 6 8), 17 bars 8 and 9 or 4 4 4 5.

const (
	maxBars      = 48 // bars of the list, split bars counted apart, that one phrase may hold
	boundaryCost = 12 // of a boundary for which nothing speaks
	barUnit      = 24 // lengths are counted in 1/24 of a full bar
)

// lengthCost is what a phrase of so many bars costs. Long bars (12/8, 3/2, 6/4)
// hold as much in two as others in four.
func lengthCost(units int, long bool) int {
	bars := (units + barUnit/2) / barUnit
	table := [...]int{40, 24, 8, 9, 0, 8, 7, 10, 4, 14, 18, 18, 16, 20, 20, 20, 22}
	c := 0
	switch {
	case long && bars == 2:
		c = 2
	case bars < len(table):
		c = table[bars]
	default:
		c = 22 + 3*(bars-16)
	}
	return c + abs(units-bars*barUnit)/3
}

// phrases cuts the song. The spans must have their functions.
func phrases(song leadsheet.Song, ss []Span) []Phrase {
	n := len(song.Bars)
	if n == 0 {
		return nil
	}
	b := newBoundaries(song, ss)
	units := make([]int, n+1) // before each bar, in 1/24 bars
	for i, bar := range song.Bars {
		units[i+1] = units[i] + barLength(bar)
	}
	type cell struct{ cost, from int }
	best := make([]cell, n+1) // best[j]: the first j bars cut, the last phrase starting at from
	for j := 1; j <= n; j++ {
		best[j].cost = 1 << 40
		long := song.Bars[j-1].Meter.OrCommon().Bar() >= 3*theory.Half
		for i := j - 1; i >= 0 && i >= j-maxBars; i-- {
			length := units[j] - units[i]
			if i == 0 { // the pick-up before the first bar makes no phrase longer
				length -= b.opening
			}
			if j == n && length%barUnit != 0 { // nor does its missing end make one shorter
				length += barUnit / 2
				length -= length % barUnit
			}
			c := best[i].cost + lengthCost(max(length, 0), long)
			if j < n {
				c += boundaryCost - b.strength[j]
			}
			if c <= best[j].cost {
				best[j] = cell{c, i}
			}
		}
	}
	var out []Phrase
	for j := n; j > 0; j = best[j].from {
		i := best[j].from
		p := Phrase{First: i, Last: j - 1, At: song.Bars[i].At, End: song.Bars[j-1].End(),
			From: b.split[i], To: b.split[j]}
		if i == 0 {
			p.From = 0
		}
		if j == n {
			p.To = len(song.Melody)
		}
		out = append(out, p)
	}
	slices.Reverse(out)
	for i := range out {
		p := &out[i]
		p.Goal = -1
		if p.To > p.From {
			p.Goal = p.To - 1
		}
		p.Cadence, p.Close = cadence(song, ss, p.Goal, p.At, p.End)
		p.Rhythm = harmonicRhythm(ss, p.At, p.End)
	}
	return out
}

// barLength is the length of a bar in 1/24 of a full one, at most two bars.
func barLength(b leadsheet.Bar) int {
	full := b.Meter.OrCommon().Bar()
	return int(min(max(b.Dur, 0), 2*full) * barUnit / full)
}

// boundaries holds what speaks for a phrase boundary before each bar.
type boundaries struct {
	strength []int // before bar j
	split    []int // the first melody note of a phrase that would begin at bar j, its pick-up included
	opening  int   // length of the song's own pick-up, in 1/24 bars
}

func newBoundaries(song leadsheet.Song, ss []Span) boundaries {
	n := len(song.Bars)
	b := boundaries{strength: make([]int, n+1), split: make([]int, n+1)}
	var pickup theory.Dur
	if first := song.Bars[0]; first.Pickup && n > 1 {
		b.opening, pickup = barLength(first), first.Dur
	} else if len(song.Melody) > 0 {
		// A pick-up may also be padded with rests to a full bar.
		if wait := song.Melody[0].At - first.At; wait >= first.Dur/2 && wait < first.Dur {
			b.opening, pickup = barLength(first), first.Dur-wait
		}
	}
	usual := usualOnset(song.Melody)
	tunes, rhythms := barPrints(song)
	head := 0
	if b.opening > 0 && n > 1 {
		head = 1
	}
	first := 0 // first note at or after the bar line
	for j := 1; j < n; j++ {
		at := song.Bars[j].At
		for first < len(song.Melody) && song.Melody[first].At < at {
			first++
		}
		var s int
		b.split[j], s = breath(song, j, first, pickup, usual)
		s += written(song, j)
		if j+1 < n && j > head && tunes[j] == tunes[head] && tunes[j+1] == tunes[head+1] {
			s += 8
		} else if j+1 < n && j > head && rhythms[j] == rhythms[head] && rhythms[j+1] == rhythms[head+1] {
			s += 3
		}
		switch c, _ := cadence(song, ss, b.split[j]-1, song.Bars[max(0, j-4)].At, at); c {
		case Authentic:
			s += 5
		case Plagal:
			s += 3
		case Half, Deceptive:
			s += 2
		}
		b.strength[j] = min(s, 60)
	}
	b.split[n] = len(song.Melody)
	return b
}

// written weighs what the sheet itself says: sections, repeats, changes of key and metre, pick-up bars, ends of lines.
func written(song leadsheet.Song, j int) int {
	a, b := song.Bars[j-1], song.Bars[j]
	s := 0
	if b.Section != "" || b.Part != a.Part {
		s += 40
	}
	if b.Written < a.Written { // a repeat; a jump forwards is only another ending
		s += 30
	}
	if b.Key != a.Key {
		s += 20
	}
	if b.Meter != a.Meter {
		s += 6
	}
	if b.Pickup {
		s += 15
	}
	if a.Pickup {
		s -= 60
	}
	// A line that holds several bars and ends here was broken here on purpose.
	if j > 1 && a.Line != b.Line && a.Line == song.Bars[j-2].Line && a.Line != 0 {
		s += 3
	}
	return s
}

// breath finds where the tune would breathe around the bar line before bar j and
// how clearly: the first note of the new phrase, which may be a pick-up before
// the bar line, and a strength. first is the first note at or after the line.
func breath(song leadsheet.Song, j, first int, pickup, usual theory.Dur) (split, strength int) {
	notes, at := song.Melody, song.Bars[j].At
	m := song.Bars[j-1].Meter.OrCommon()
	reach := max(m.Bar()/2, pickup)
	room := func(i int) theory.Dur { // from the onset before note i to note i
		switch {
		case i <= 0:
			return 0
		case i >= len(notes):
			return song.End() - notes[i-1].At
		}
		return notes[i].At - notes[i-1].At
	}
	split = first
	best := room(first)
	if first > 0 && notes[first-1].End() > at && first < len(notes) {
		// A note sounds across the line: no breath there, but perhaps before it.
		best = 0
	}
	for i := first - 1; i > 0 && at-notes[i].At <= reach; i-- {
		r := room(i)
		if at-notes[i].At == pickup {
			r += r / 2 // the tune began with such a pick-up
		}
		if r > best+best/4 && r >= m.BeatDur() {
			split, best = i, r
		}
	}
	if split == 0 || split-1 >= len(notes) {
		return split, 0
	}
	r := room(split)
	switch {
	case best == 0:
		return split, -12
	case r >= 4*usual:
		strength = 8
	case r >= 3*usual:
		strength = 7
	case r >= 2*usual:
		strength = 5
	case 2*r >= 3*usual:
		strength = 3
	}
	if split < len(notes) && notes[split].At-notes[split-1].End() >= m.BeatDur()/2 {
		strength += 2
	}
	if r >= m.Bar() {
		strength += 4
	}
	return split, strength
}

// usualOnset is the median distance between onsets.
func usualOnset(notes []leadsheet.Note) theory.Dur {
	if len(notes) < 2 {
		return theory.Quarter
	}
	d := make([]theory.Dur, len(notes)-1)
	for i := range d {
		d[i] = notes[i+1].At - notes[i].At
	}
	slices.Sort(d)
	return max(d[len(d)/2], 1)
}

// barPrints gives each bar two fingerprints, of its tune and of its rhythm; an
// empty bar has its own number, so that it is like no other.
func barPrints(song leadsheet.Song) (tunes, rhythms []uint64) {
	const prime = 1099511628211 // of the 64-bit FNV-1a hash
	tunes, rhythms = make([]uint64, len(song.Bars)), make([]uint64, len(song.Bars))
	k := 0
	for i, b := range song.Bars {
		for k < len(song.Melody) && song.Melody[k].At < b.At {
			k++
		}
		t, r := uint64(14695981039346656037), uint64(14695981039346656037)
		empty := true
		for ; k < len(song.Melody) && song.Melody[k].At < b.End(); k++ {
			n := song.Melody[k]
			empty = false
			r = (r ^ uint64(n.At-b.At)) * prime
			t = (t ^ uint64(n.At-b.At)) * prime
			t = (t ^ uint64(n.Pitch.MIDI())) * prime
		}
		if empty {
			t, r = uint64(i), uint64(i)
		}
		tunes[i], rhythms[i] = t, r
	}
	return tunes, rhythms
}

// cadence reads how the harmony closes on a goal note (−1: on the last chord
// before end), and on which root. from limits how far back the chord before it
// is looked for.
func cadence(song leadsheet.Song, ss []Span, goal int, from, end theory.Dur) (Cadence, theory.Name) {
	at, until := end-1, end
	if goal >= 0 && goal < len(song.Melody) {
		n := song.Melody[goal]
		if n.At < end {
			at, until = n.At, min(n.End(), end)
		}
	}
	g := spanIndex(ss, at)
	if g < 0 || !ss[g].Sounding() {
		return NoCadence, theory.Name{}
	}
	// The tonic may come under the held goal note.
	for g+1 < len(ss) && ss[g+1].At < until && ss[g].Function == Dominant && home(ss[g+1]) {
		g++
	}
	c := ss[g]
	var before Span
	for i := g - 1; i >= 0 && ss[i].End > from && !ss[i].Unknown; i-- {
		if ss[i].Sounding() && ss[i].Chord.Root.Class() != c.Chord.Root.Class() {
			before = ss[i]
			break
		}
	}
	return closing(before, c), c.Chord.Root
}

// closing reads the last step of a phrase; before may be the zero Span.
func closing(before, c Span) Cadence {
	rel := above(c.Key.Tonic, c.Chord.Root)
	switch {
	case c.Function == Dominant && rel == 7:
		return Half
	case !before.Sounding():
		return NoCadence
	case home(c) && closes(before), tonicised(before, c):
		return Authentic
	case home(c) && (before.Function == Subdominant || before.Function == Borrowed):
		return Plagal
	case before.Function == Dominant && (rel == 9 || rel == 8):
		return Deceptive
	}
	return NoCadence
}

// tonicised tells whether a chord stands at rest after its own dominant.
func tonicised(before, c Span) bool {
	q := qualityOf(c.Chord)
	return before.Function == Applied && before.Resolves && before.Target.Class() == c.Chord.Root.Class() &&
		(q == major || q == minor) && (c.Function == Tonic || c.Function == Subdominant)
}

// home tells whether a span is the tonic chord itself.
func home(s Span) bool {
	return s.Sounding() && s.Function == Tonic && above(s.Key.Tonic, s.Chord.Root) == 0
}

// closes tells whether a chord before the tonic makes an authentic close.
func closes(s Span) bool {
	rel := above(s.Key.Tonic, s.Chord.Root)
	switch s.Function {
	case Dominant:
		return true
	case Substitute:
		return rel == 1
	case Borrowed:
		return rel == 10 && isDominantSeventh(s.Chord)
	}
	return false
}

// harmonicRhythm is the median length of the chords between two positions, each
// clipped to them; of two in the middle the shorter.
func harmonicRhythm(ss []Span, from, to theory.Dur) theory.Dur {
	var d []theory.Dur
	for _, s := range spansIn(ss, from, to) {
		if s.Sounding() {
			d = append(d, min(s.End, to)-max(s.At, from))
		}
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return d[(len(d)-1)/2]
}

// spanIndex finds the span in force, −1 outside.
func spanIndex(ss []Span, at theory.Dur) int {
	i, _ := slices.BinarySearchFunc(ss, at, func(s Span, at theory.Dur) int {
		if s.End <= at {
			return -1
		}
		return 1
	})
	if i == len(ss) || at < ss[i].At {
		return -1
	}
	return i
}

// spansIn returns the spans that touch from ≤ t < to.
func spansIn(ss []Span, from, to theory.Dur) []Span {
	lo, _ := slices.BinarySearchFunc(ss, from, func(s Span, at theory.Dur) int {
		if s.End <= at {
			return -1
		}
		return 1
	})
	hi := lo
	for hi < len(ss) && ss[hi].At < to {
		hi++
	}
	return ss[lo:hi]
}

// notesIn returns the notes that begin in from ≤ t < to.
func notesIn(notes []leadsheet.Note, from, to theory.Dur) []leadsheet.Note {
	lo := noteIndex(notes, from)
	hi := lo
	for hi < len(notes) && notes[hi].At < to {
		hi++
	}
	return notes[lo:hi]
}

// noteIndex is the index of the first note that begins at or after a position.
func noteIndex(notes []leadsheet.Note, at theory.Dur) int {
	i, _ := slices.BinarySearchFunc(notes, at, func(n leadsheet.Note, at theory.Dur) int {
		return cmp.Compare(n.At, at)
	})
	for i > 0 && notes[i-1].At >= at {
		i--
	}
	return i
}
