package teach

import (
	"slices"

	"gradatim/internal/arrange"
	"gradatim/internal/technique"
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

// plain puts held chords into the left hand of an excerpt that has none.
func (w *writer) plain(p *page, s score.Score) score.Score {
	st := w.study(p)
	st.Whole = true
	return st.Under(s, arrange.Play{Figures: technique.CloseChord})
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
