package arrange

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/theory"
)

// choosing tells whether one of the teacher's choices for this level and moment
// matches.
func (p *piece) choosing(at theory.Dur, match func(ladder.Choice) bool) bool {
	return slices.ContainsFunc(p.opt.Choices, func(c ladder.Choice) bool {
		return c.Level == p.level.Number && c.At <= at && at < c.Until && match(c)
	})
}

// insists tells whether the teacher asks for a technique at a place.
func (p *piece) insists(id string, at theory.Dur) bool {
	return p.choosing(at, func(c ladder.Choice) bool { return c.Technique == id })
}

// forbids tells whether the teacher rules a technique out at a place.
func (p *piece) forbids(id string, at theory.Dur) bool {
	return p.choosing(at, func(c ladder.Choice) bool { return c.Avoid == id })
}

// fixed tells whether the chord at a place is the teacher's.
func (p *piece) fixed(at theory.Dur) bool {
	return p.choosing(at, func(c ladder.Choice) bool { return c.HasChord })
}

// chosenChords replaces the rewrites of a span by the teacher's chords where
// there are any: what lies before and between them keeps the sheet's chord.
func (p *piece) chosenChords(s harmony.Span, rewrites []technique.Rewrite) []technique.Rewrite {
	var rw technique.Rewrite
	at := s.At
	any := false
	for _, c := range p.opt.Choices {
		if c.Level != p.level.Number || !c.HasChord || c.At >= s.End || c.Until <= s.At {
			continue
		}
		any = true
		from, until := max(c.At, s.At), min(c.Until, s.End)
		if from > at {
			rw.Chords = append(rw.Chords, technique.Chord{At: at, End: from, Chord: s.Chord})
		}
		rw.Chords = append(rw.Chords, technique.Chord{At: from, End: until, Chord: c.Chord, Why: "the teacher's choice"})
		at = until
	}
	if !any {
		return rewrites
	}
	if at < s.End {
		rw.Chords = append(rw.Chords, technique.Chord{At: at, End: s.End, Chord: s.Chord})
	}
	return []technique.Rewrite{rw}
}
