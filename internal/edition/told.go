package edition

import (
	"slices"

	"gradatim/internal/claim"
)

// told leaves of the reasons of a page, for its notes and its chords, what the notes bear
// out. It comes last, when nothing of the page changes any more.
func told(a Page) Page {
	if len(a.Score.Notes) == 0 {
		return a
	}
	p := claim.Of(a.Score)
	a.Score.Notes = slices.Clone(a.Score.Notes)
	for i := range a.Score.Notes {
		n := &a.Score.Notes[i]
		why := p.True(n.Origin.Why, p.NotePlace(*n), nil)
		if why == nil {
			why = p.Plain(*n)
		}
		n.Origin.Why = why
	}
	a.Decisions = slices.Clone(a.Decisions)
	for k := range a.Decisions {
		d := &a.Decisions[k]
		d.Chords = slices.Clone(d.Chords)
		for i, c := range d.Chords {
			d.Chords[i].Why = p.True(c.Why, p.ChordPlace(c.At, c.End, c.Chord), nil)
		}
	}
	return a
}

// samePage tells whether two pages are one, of which nothing was made again: then the same
// of their reasons is borne out, which takes as long to find as the page to search.
func samePage(a, b Page) bool {
	return shared(a.Score.Notes, b.Score.Notes) && shared(a.Score.Bars, b.Score.Bars) && shared(a.Score.Chords, b.Score.Chords) &&
		shared(a.Score.Directions, b.Score.Directions) && shared(a.Decisions, b.Decisions)
}

// shared tells whether two lists are the same in memory.
func shared[T any](a, b []T) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}
