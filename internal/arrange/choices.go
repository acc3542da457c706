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
		refuse := func(why string, parts ...any) {
			pos := c.Pos
			if pos.File == "" {
				pos.File = p.song.File
			}
			p.remarks = append(p.remarks, Remark{Pos: pos, Severity: leadsheet.Warning, Code: "choice-impossible", Case: why, Parts: parts})
		}
		if c.HasChord && !slices.ContainsFunc(p.slots, func(sl slot) bool { return sl.chord == c.Chord && sl.at < c.Until && sl.end > c.At }) {
			refuse("chord", "Chord", c.Chord)
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
		why := map[technique.Stage]string{technique.Device: "device", technique.Line: "line", technique.LeftHand: "left",
			technique.RightHand: "right", technique.Ornament: "ornament"}[t.Stage]
		if !p.level.Uses(c.Technique) && (t.Stage == technique.Device || t.Stage == technique.Line || t.Stage == technique.Ornament) {
			why = "level"
		}
		refuse(why, "Technique", reason.Technique(t.ID), "Level", p.level.Name)
	}
}
