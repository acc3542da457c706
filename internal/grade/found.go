package grade

import (
	"slices"

	"gradatim/internal/ladder"
	"gradatim/internal/sight"
	"gradatim/internal/technique"
	"gradatim/score"
)

// Found is a technique that the notes of a score show.
type Found struct {
	ID    string
	Level int   // number of the built-in level that introduces it
	Times int   // how often
	Bars  []int // printed numbers, ascending
	// Findings are the places, in order of time.
	Findings []technique.Finding
}

// Find runs every technique's recogniser on a score and returns those that found
// something, in teaching order. Recognisers read notes, marks and printed chord
// symbols, and no Origin; in a score without symbols the chords are heard first.
func Find(s score.Score) []Found {
	if len(s.Chords) == 0 {
		s.Chords = Hear(s)
	}
	var out []Found
	page := sight.Read(s)
	for _, t := range technique.All() {
		fs := t.Recognise(page)
		if len(fs) == 0 {
			continue
		}
		slices.SortStableFunc(fs, func(a, b technique.Finding) int { return int(min(1, max(-1, a.At-b.At))) })
		out = append(out, Found{ID: t.ID, Level: ladder.Introduces(t.ID), Times: len(fs), Bars: barsOf(s, fs), Findings: fs})
	}
	return out
}

// barsOf lists the printed numbers of the bars that findings reach into. A finding
// that ends with a bar does not reach the next.
func barsOf(s score.Score, fs []technique.Finding) []int {
	reached := make([]bool, len(s.Bars))
	for _, f := range fs {
		first := s.BarAt(f.At)
		if first < 0 {
			continue
		}
		for b := first; b == first || b < len(s.Bars) && s.Bars[b].At < f.End; b++ {
			reached[b] = true
		}
	}
	var out []int
	for b, yes := range reached {
		if yes {
			out = append(out, s.Bars[b].Number)
		}
	}
	return out
}
