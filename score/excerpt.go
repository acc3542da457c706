package score

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Excerpt cuts the bars first to last, given as indexes into Bars, out of the
// score. Time begins at 0; bars keep their numbers and notes their ids.
//
// What reaches over an edge is cut there: a note that is still held begins with
// the excerpt, a slur ends at the last note inside of its voice, a pedal, hairpin
// or octave line at the edge. What holds at the beginning, the chord, the dynamic
// of each hand and, where the score says it, the clef of each staff, is said
// there. Title and makers are kept; signs for repeats and jumps only with the whole.
func (s Score) Excerpt(first, last int) Score {
	out := s.stretch(first, last, true)
	out.Continues = s.Continues || last < len(s.Bars)-1
	if first > 0 || last < len(s.Bars)-1 {
		for i := range out.Bars {
			out.Bars[i].Signs = leadsheet.Signs{}
		}
	}
	return out.Finish()
}

// stretch cuts bars out; held tells whether notes that began before them sound in them.
func (s Score) stretch(first, last int, held bool) Score {
	from, to := s.Bars[first].At, s.Bars[last].End()
	out := s
	out.Bars, out.Notes, out.Chords, out.Lyrics, out.Directions = nil, nil, nil, nil, nil
	for _, b := range s.Bars[first : last+1] {
		b.At -= from
		out.Bars = append(out.Bars, b)
	}
	out.Bars[0].LineBreak = false
	if sym, ok := s.ChordAt(from); ok && sym.At < from {
		sym.At = 0
		out.Chords = append(out.Chords, sym)
	}
	for _, c := range s.Chords {
		if c.At >= from && c.At < to {
			c.At -= from
			out.Chords = append(out.Chords, c)
		}
	}
	for _, y := range s.Lyrics {
		if y.At >= from && y.At < to {
			y.At -= from
			out.Lyrics = append(out.Lyrics, y)
		}
	}
	outside := func(n *Note) bool { return n.At >= to || n.At < from && (n.End() <= from || !held) }
	inside := 0
	for i := range s.Notes {
		if !outside(&s.Notes[i]) {
			inside++
		}
	}
	out.Notes = slices.Grow(out.Notes, inside) // notes are large, and many
	for i := range s.Notes {
		if outside(&s.Notes[i]) {
			continue
		}
		n := s.Notes[i]
		if n.At < from {
			n.Stroke.On = 0
		}
		if n.End() > to {
			n.Stroke.Off = 0
		}
		end := min(n.End(), to) - from
		n.At = max(n.At-from, 0)
		n.Dur = end - n.At
		out.Notes = append(out.Notes, n)
	}
	out.slurs(s, from, to)
	out.Directions = s.directionsIn(from, to)
	return out
}

// slurs gives the notes of an excerpt of s the ends of its slurs that lie in
// [from, to) or are cut there.
func (out *Score) slurs(s Score, from, to theory.Dur) {
	type voice struct {
		hand   Hand
		number uint8
	}
	edge := map[voice][2]int{} // first and last note of each voice in out
	place := map[string]int{}  // of a note with a slur's end, by its id in out
	for i := range out.Notes {
		n := &out.Notes[i]
		if n.Marks.Has(SlurFrom) || n.Marks.Has(SlurTo) {
			place[n.ID] = i
		}
		n.Marks &^= SlurFrom | SlurTo
		if n.Grace > 0 {
			continue
		}
		l := voice{n.Hand, n.Voice}
		if e, ok := edge[l]; ok {
			edge[l] = [2]int{e[0], i}
		} else {
			edge[l] = [2]int{i, i}
		}
	}
	open := map[voice][]int{}
	for i := range s.Notes {
		n := &s.Notes[i]
		if !n.Marks.Has(SlurFrom) && !n.Marks.Has(SlurTo) {
			continue
		}
		l := voice{n.Hand, n.Voice}
		if st := open[l]; n.Marks.Has(SlurTo) && len(st) > 0 {
			begin := s.Notes[st[len(st)-1]]
			open[l] = st[:len(st)-1]
			if e, ok := edge[l]; ok && begin.At < to && n.At >= from {
				a, b := e[0], e[1]
				if begin.At >= from {
					a = place[begin.ID]
				}
				if n.At < to {
					b = place[n.ID]
				}
				if a != b {
					out.Notes[a].Marks |= SlurFrom
					out.Notes[b].Marks |= SlurTo
				}
			}
		}
		if n.Marks.Has(SlurFrom) {
			open[l] = append(open[l], i)
		}
	}
}

// lines are the directions that begin something, and those that end it.
var lines = []struct{ begin, end DirectionKind }{{PedalDown, PedalUp}, {OctaveUp, OctaveEnd}, {Crescendo, HairpinEnd}, {Diminuendo, HairpinEnd}}

// line is something that goes on until it is ended, named by its end. A staff has
// its own octave lines and hairpins; both share the pedal.
type line struct {
	end  DirectionKind
	hand Hand
}

// lineOf returns what a direction begins or ends.
func lineOf(d Direction) (l line, begins, ends bool) {
	for _, k := range lines {
		if d.Kind == k.begin || d.Kind == k.end {
			l = line{k.end, d.Hand}
			if k.end == PedalUp {
				l.hand = 0
			}
			return l, d.Kind == k.begin, d.Kind == k.end
		}
	}
	return line{}, false, false
}

// directionsIn lists the directions of [from, to), from 0, with what holds at the
// beginning, and the ends of what is still under way at the end.
func (s Score) directionsIn(from, to theory.Dur) []Direction {
	open := map[line]Direction{}
	clefs := map[Hand]Direction{}
	var tempo, depth Direction // in force before; at 0 of the excerpt
	var rest []Direction
	dynamic := false // a sign stands at the beginning
	for _, d := range s.Directions {
		l, begins, ends := lineOf(d)
		switch {
		case d.At > from || d.At == from && !ends:
			rest = append(rest, d)
			if d.At == from {
				dynamic = dynamic || holds(d)
				switch d.Kind {
				case ClefTreble, ClefBass:
					delete(clefs, d.Hand)
				case TempoChange:
					tempo = Direction{}
				case PedalDepth:
					depth = Direction{}
				}
			}
		case begins:
			open[l] = d
		case ends:
			delete(open, l)
		case d.Kind == ClefTreble || d.Kind == ClefBass:
			clefs[d.Hand] = d
		case d.Kind == TempoChange:
			tempo = d
		case d.Kind == PedalDepth:
			depth = d
		}
	}
	var out []Direction
	if tempo.Kind != 0 {
		out = append(out, tempo)
	}
	if depth.Value > 0 {
		out = append(out, depth)
	}
	all := []Hand{0, Right, Left}
	for _, h := range all {
		if d, ok := clefs[h]; ok {
			out = append(out, d)
		}
	}
	if r, l := s.DynamicAt(from, Right), s.DynamicAt(from, Left); !dynamic && r != "" {
		out = append(out, Direction{Kind: Dynamic, Hand: Right, Text: r})
		if l != r {
			out = append(out, Direction{Kind: Dynamic, Hand: Left, Text: l})
		}
	}
	for _, k := range lines {
		for _, h := range all {
			if d, ok := open[line{k.end, h}]; ok && d.Kind == k.begin {
				out = append(out, d)
			}
		}
	}
	for i := range out {
		out[i].At = 0
	}
	for _, d := range rest {
		l, begins, ends := lineOf(d)
		_, under := open[l]
		if d.At > to || d.At == to && !ends || ends && !under {
			continue
		}
		if begins {
			open[l] = d
		} else if ends {
			delete(open, l)
		}
		d.At -= from
		out = append(out, d)
	}
	for _, k := range lines {
		for _, h := range all {
			if d, ok := open[line{k.end, h}]; ok && d.Kind == k.begin {
				out = append(out, Direction{At: to - from, Kind: k.end, Hand: d.Hand})
			}
		}
	}
	return out
}

// OfTune returns the indexes of the first and the last bar of the tune, of a page that may
// have an introduction and a tag. ok is false in a score without bars of a tune.
func (s Score) OfTune() (first, last int, ok bool) {
	first = slices.IndexFunc(s.Bars, func(b Bar) bool { return b.Part == Tune })
	if last = first; first < 0 {
		return 0, 0, false
	}
	for last+1 < len(s.Bars) && s.Bars[last+1].Part == Tune {
		last++
	}
	return first, last, true
}

// Range finds the bars of the tune numbered from to to, as printed, as indexes of the
// first and the last; to 0 means the end. From the first bar to the end, an introduction
// and a tag are with them. A pick-up counts as bar 0. ok is false where the score has no
// such bars.
func (s Score) Range(from, to int) (first, last int, ok bool) {
	if a, b, ok := s.OfTune(); ok && (a > 0 || b < len(s.Bars)-1) {
		whole := to == 0
		tune := s
		tune.Bars = s.Bars[a : b+1]
		first, last, ok = tune.Range(from, to)
		if first, last = first+a, last+a; ok && whole {
			last = len(s.Bars) - 1
			if first == a && from <= 1 {
				first = 0
			}
		}
		return first, last, ok
	}
	if len(s.Bars) == 0 {
		return 0, 0, false
	}
	end := s.Bars[len(s.Bars)-1].Number
	if to == 0 {
		to = end
	}
	first = slices.IndexFunc(s.Bars, func(b Bar) bool { return b.Number >= from && (from == 0 || !b.Pickup) })
	if from < 0 || from > to || to > end || first < 0 {
		return 0, 0, false
	}
	// In a page as it is played numbers come again: up to the next bar with the last.
	last = first
	if i := slices.IndexFunc(s.Bars[first:], func(b Bar) bool { return b.Number == to }); i > 0 {
		last = first + i
	}
	for last+1 < len(s.Bars) && s.Bars[last+1].Number <= to && s.Bars[last+1].Number >= s.Bars[last].Number {
		last++
	}
	return first, last, s.Bars[first].Number <= to
}
