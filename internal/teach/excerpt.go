package teach

import (
	"slices"

	"gradatim/internal/audit"
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// excerpt cuts bars (indexes, inclusive) out of a score for a picture of its own:
// no title, no words, no slurs, and of signs the pedal alone. What is still held
// from before is left out.
func excerpt(s score.Score, first, last int) score.Score {
	out := s.Excerpt(first, last)
	out.Continues = false // a picture is whole
	out.Title, out.Subtitle, out.Composer, out.Arranger, out.Rights, out.LevelName = "", "", "", "", "", ""
	held := map[string]bool{}
	for i := range s.Notes {
		if n := &s.Notes[i]; n.At < s.Bars[first].At && n.End() > s.Bars[first].At {
			held[n.ID] = true
		}
	}
	out.Notes = slices.DeleteFunc(out.Notes, func(n score.Note) bool { return held[n.ID] })
	for i := range out.Notes {
		out.Notes[i].Marks &^= score.SlurFrom | score.SlurTo
	}
	for i := range out.Bars {
		out.Bars[i].LineBreak = false
	}
	out.Directions = slices.DeleteFunc(out.Directions, func(d score.Direction) bool {
		return d.Kind != score.PedalDown && d.Kind != score.PedalUp
	})
	return out
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
