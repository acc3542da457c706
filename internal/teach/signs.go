package teach

import (
	"strings"

	"gradatim/score"
)

// Sign is a sign of the pages or of the words, explained.
type Sign struct {
	Sign    string `json:"sign"`
	Meaning string `json:"meaning"`
}

// signs explains the signs that the lesson uses (common practice, no source).
func (w *writer) signs(levels []LevelLesson) []Sign {
	romans := ""
	for _, l := range levels {
		for _, c := range l.Chords {
			for _, u := range c.Uses {
				romans += u.Roman + " "
			}
		}
	}
	notes := func(is func(score.Note) bool) bool {
		for _, p := range w.pages {
			for _, n := range p.Score.Notes {
				if is(n) {
					return true
				}
			}
		}
		return false
	}
	has := func(m score.Marks) bool { return notes(func(n score.Note) bool { return n.Marks.Has(m) }) }
	drawn := func(o score.Ornament) bool { return notes(func(n score.Note) bool { return n.Ornament == o }) }
	out := []Sign{}
	for _, s := range []struct {
		used          bool
		sign, meaning string
	}{
		{romans != "", "I, ii, V", "the degree of the scale on which a chord stands, capitals with a major third, small letters with a minor one"},
		{strings.Contains(romans, "°"), "°", "diminished, with a minor third and diminished fifth"},
		{strings.Contains(romans, "ø"), "ø", "half-diminished, a diminished triad with a minor seventh"},
		{strings.Contains(romans, "+"), "+", "augmented, with a major third and a raised fifth"},
		{strings.Contains(romans, "/"), "V7/ii", "as if the degree after the stroke were home for a moment, here the dominant of ii"},
		{strings.Contains(romans, "sub"), "subV7", "stands for the dominant, its root a tritone away"},
		{strings.Contains(romans, "♭I") || strings.Contains(romans, "♭V") || strings.Contains(romans, "♭i") || strings.Contains(romans, "♭v"), "♭VII", "on a degree that is lowered by a half step"},
		{has(score.Ghost), "( ) round a note head", "a ghost note, felt more than heard"},
		{has(score.Rolled), "Wavy line before a chord", "rolled from the lowest note up"},
		{notes(func(n score.Note) bool { return n.Hand == score.Right && n.Grace == 0 && isAdded(n) }), "Small notes", "what the page adds to the tune: fills, runs and ornaments written out"},
		{has(score.Slashed), "Small note with a stroke", "crushed, struck just before its main note, or almost with it"},
		{drawn(score.Mordent) || drawn(score.UpperMordent), "Short zigzag over a note", "a mordent, quickly to the neighbour and back; to the lower one where a stroke crosses it"},
		{drawn(score.Turn), "Lying S over a note", "a turn, round the note from above"},
		{drawn(score.Trill), "tr over a note", "a trill with the note above"},
		{drawn(score.Tremolo), "Strokes through a stem", "a tremolo, the notes in quick exchange"},
	} {
		if s.used {
			out = append(out, Sign{s.sign, s.meaning})
		}
	}
	return out
}

// isAdded tells whether a note adorns the tune.
func isAdded(n score.Note) bool {
	return n.Origin.Kind == score.Fill || n.Origin.Kind == score.Run || n.Origin.Kind == score.Ornamental
}
