package teach

import (
	"slices"

	"gradatim/internal/audit"
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// excerpt cuts bars (indexes, inclusive) out of a score. Time begins at 0; notes
// keep their ids; what is still held from before is left out and what is held
// beyond the end is cut there.
func excerpt(s score.Score, first, last int) score.Score {
	from, to := s.Bars[first].At, s.Bars[last].End()
	out := score.Score{Tempo: s.Tempo, Feel: s.Feel, Swing: s.Swing, Level: s.Level, StaffHeight: s.StaffHeight, Pedal: s.Pedal}
	for _, b := range s.Bars[first : last+1] {
		b.At -= from
		b.LineBreak = false
		out.Bars = append(out.Bars, b)
	}
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
	for _, n := range s.Notes {
		if n.At < from || n.At >= to {
			continue
		}
		n.Dur = min(n.Dur, to-n.At)
		n.At -= from
		n.Marks &^= score.SlurFrom | score.SlurTo // the other end may lie outside
		out.Notes = append(out.Notes, n)
	}
	down := false
	for _, d := range s.Directions {
		switch {
		case d.At < from || d.At > to || d.At == to && d.Kind != score.PedalUp, d.Kind != score.PedalDown && d.Kind != score.PedalUp:
			continue
		case d.Kind == score.PedalDown:
			down = true
		case !down:
			continue // it was pressed before
		default:
			down = false
		}
		d.At -= from
		out.Directions = append(out.Directions, d)
	}
	if down {
		out.Directions = append(out.Directions, score.Direction{At: to - from, Kind: score.PedalUp, Hand: score.Left})
	}
	return out.Finish()
}

// heldInto tells whether a note struck before a bar is still held in it.
func heldInto(s score.Score, first int) bool {
	from := s.Bars[first].At
	for _, n := range s.Notes {
		if n.At >= from {
			break
		}
		if n.End() > from && n.Hand == score.Right {
			return true
		}
	}
	return false
}

// plain puts held chords into the left hand of an excerpt that has none: for each
// printed symbol, cut at the bar lines, the close chord that the audit passes, or
// the root alone.
func (w *writer) plain(s score.Score) score.Score {
	cuts := []theory.Dur{}
	for _, b := range s.Bars {
		cuts = append(cuts, b.At)
	}
	for _, c := range s.Chords {
		cuts = append(cuts, c.At)
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	for i, at := range cuts {
		end := s.End()
		if i+1 < len(cuts) {
			end = cuts[i+1]
		}
		sym, ok := s.ChordAt(at)
		if !ok || sym.Chord.Silent() || s.Bars[s.BarAt(at)].Pickup {
			continue
		}
		for _, ps := range closeChords(sym.Chord) {
			try := s
			try.Notes = slices.Clone(s.Notes)
			for _, p := range ps {
				try.Notes = append(try.Notes, score.Note{Hand: score.Left, Voice: 1, At: at, Dur: end - at, Pitch: p,
					Origin: score.Origin{Kind: score.Chord, Why: reason.Fact("chord-held")}})
			}
			slices.SortStableFunc(try.Notes, score.Compare)
			if w.worse(s, try) {
				continue
			}
			s = try
			break
		}
	}
	return s.Finish()
}

// worse tells whether the audit finds more in the second score than in the first.
func (w *writer) worse(a, b score.Score) bool {
	return len(audit.Check(b, audit.Options{Hand: w.hand})) > len(audit.Check(a, audit.Options{Hand: w.hand}))
}

// closeChords lists plain left-hand placings of a chord, best first: root
// position with root, third, fifth and, where the symbol has one, the seventh;
// then its inversions; then root and fifth, and the root alone.
func closeChords(c theory.Chord) [][]theory.Pitch {
	full := skeleton(c)
	var out [][]theory.Pitch
	lowest := c.Lowest()
	for _, from := range []int{52, 48, 45} {
		if c.Slash {
			rest := slices.DeleteFunc(slices.Clone(full), func(d theory.Degree) bool { return d.On(c.Root).Class() == lowest.Class() })
			bass := lowest.Above(from)
			out = append(out, append([]theory.Pitch{bass}, technique.Stack(c.Root, rest, bass.MIDI()+1)...))
			continue
		}
		for _, rot := range technique.Rotations(full) {
			out = append(out, technique.Stack(c.Root, rot, from))
		}
	}
	if len(full) > 3 {
		for _, rot := range technique.Rotations(full[:3]) {
			out = append(out, technique.Stack(c.Root, rot, 48))
		}
	}
	for _, from := range []int{45, 41, 36} {
		out = append(out, []theory.Pitch{lowest.Above(from)})
	}
	for i := range out {
		for j := range out[i] {
			out[i][j] = readable(out[i][j])
		}
	}
	return out
}

// readable respells what would need a double accidental.
func readable(p theory.Pitch) theory.Pitch { return p.Name.Reading().Nearest(p.MIDI()) }

// skeleton lists root, third, fifth and seventh (or sixth) of a chord, as far as
// it has them; an added second or fourth stays.
func skeleton(c theory.Chord) []theory.Degree {
	out := []theory.Degree{{Number: 1}}
	if d, ok := c.Third(); ok {
		out = append(out, d)
	}
	if d, ok := c.Fifth(); ok {
		out = append(out, d)
	}
	if d, ok := c.Seventh(); ok {
		out = append(out, d)
	}
	return out
}
