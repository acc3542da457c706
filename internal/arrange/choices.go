package arrange

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// choosing tells whether one of the teacher's choices for this level and moment
// matches.
func (p *piece) choosing(at theory.Dur, match func(ladder.Choice) bool) bool {
	return slices.ContainsFunc(p.opt.Choices, func(c ladder.Choice) bool {
		return c.For(p.level) && c.At <= at && at < c.Until && match(c)
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
		if !c.For(p.level) || !c.HasChord || c.At >= s.End || c.Until <= s.At {
			continue
		}
		any = true
		from, until := max(c.At, s.At), min(c.Until, s.End)
		if from > at {
			rw.Chords = append(rw.Chords, technique.Chord{At: at, End: from, Chord: s.Chord})
		}
		rw.Chords = append(rw.Chords, technique.Chord{At: from, End: until, Chord: c.Chord, Why: reason.Fact("teachers-choice")})
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

// checkChoices reports the choices that the page could not follow, each with its
// reason.
func (p *piece) checkChoices(s score.Score) {
	for _, c := range p.opt.Choices {
		if !c.For(p.level) {
			continue
		}
		refuse := func(text, fix string) {
			pos := c.Pos
			if pos.File == "" {
				pos.File = p.song.File
			}
			p.problems.Add(leadsheet.Warning, pos, "choice-impossible", text, fix)
		}
		if c.HasChord && !slices.ContainsFunc(p.slots, func(sl slot) bool { return sl.chord == c.Chord && sl.at < c.Until && sl.end > c.At }) {
			refuse("the chord "+c.Chord.Pretty()+" has no place there: the sheet has no chord that it could replace", "write a chord on the sheet there")
		}
		if c.Technique == "" {
			continue
		}
		used := slices.ContainsFunc(s.Notes, func(n score.Note) bool {
			return n.Origin.Technique == c.Technique && n.At < c.Until && n.End() > c.At
		}) || slices.ContainsFunc(p.slots, func(sl slot) bool {
			return (sl.device == c.Technique || sl.paint == c.Technique) && sl.at < c.Until && sl.end > c.At
		})
		if used {
			continue
		}
		t, _ := technique.ByID(c.Technique)
		reason := map[technique.Stage]string{
			technique.Device:    "the chords there do not allow it, or the tune clashes with it",
			technique.Line:      "the tune has no note there that it fits",
			technique.LeftHand:  "no playable form of it fits this chord, metre, tempo and hand",
			technique.RightHand: "there is no room for it under the tune, or the hand does not reach",
			technique.Ornament:  "the tune leaves it no room",
		}[t.Stage]
		if !p.level.Uses(c.Technique) && (t.Stage == technique.Device || t.Stage == technique.Line || t.Stage == technique.Ornament) {
			reason = "level " + p.level.Name + " does not use it: name it in a level file of your own"
		}
		refuse(t.Name+" cannot be used there: "+reason, "choose another place or technique")
	}
}
