package arrange

import (
	"slices"

	"gradatim/internal/harmony"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// teachersChord is the reason for a chord that the teacher chose.
const teachersChord = reason.Fact("teachers-choice")

// readingsAt lists the readings of a span that the search may choose from. Where the
// teacher chose chords, they are those that have them; where none has, the others with
// her chords written over theirs.
func (p *piece) readingsAt(i int) []reading {
	rs := p.affordable(p.readings[i])
	hs := p.fixedChords(p.an.Spans[i])
	if len(hs) == 0 || len(rs) == 0 {
		return rs
	}
	if out := agreeing(rs, hs); len(out) > 0 {
		return out
	}
	if out := agreeing(p.readings[i], hs); len(out) > 0 {
		return p.affordable(out)
	}
	var out []draft
	pass := p.passage(i)
	for _, rw := range p.rewrites(pass) {
		if rw, ok := overwritten(rw, hs); ok {
			out = p.paint(out, pass, rw)
		}
	}
	return p.affordable(finished(out))
}

// fixedChords are the teacher's chords within a span.
func (p *piece) fixedChords(s harmony.Span) []held[theory.Chord] {
	var hs []held[theory.Chord]
	for _, h := range p.fixed.chords {
		if h.at < s.End && h.until > s.At {
			h.at, h.until = max(h.at, s.At), min(h.until, s.End)
			hs = append(hs, h)
		}
	}
	return hs
}

// agreeing are the readings that have the teacher's chords where she has them.
func agreeing(rs []reading, hs []held[theory.Chord]) []reading {
	var out []reading
	for _, r := range rs {
		cs := slices.Clone(r.chords)
		ok := true
		for k := range cs {
			for _, h := range hs {
				if cs[k].At < h.until && cs[k].End > h.at {
					ok = ok && cs[k].tint.Chord == h.what
					if cs[k].Why == nil {
						cs[k].Why = teachersChord
					}
				}
			}
		}
		if ok {
			r.chords = cs
			out = append(out, r)
		}
	}
	return out
}

// overwritten writes the teacher's chords over those of a rewrite. ok is false where
// nothing is left of what a device does there, or only a part.
func overwritten(rw technique.Rewrite, hs []held[theory.Chord]) (out technique.Rewrite, ok bool) {
	var cuts []theory.Dur
	for _, c := range rw.Chords {
		cuts = append(cuts, c.At, c.End)
	}
	for _, h := range hs {
		cuts = append(cuts, h.at, h.until)
	}
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	out = rw
	out.Chords, ok = nil, rw.Device == ""
	for k, at := range cuts[:len(cuts)-1] {
		i := slices.IndexFunc(rw.Chords, func(c technique.Chord) bool { return c.At <= at && at < c.End })
		now := rw.Chords[i]
		if h := find(hs, at); h != nil {
			now = technique.Chord{At: h.at, End: h.until, Chord: h.what, Why: teachersChord}
		} else if now.Why != nil {
			for _, h := range hs {
				if h.at < now.End && h.until > now.At {
					return out, false
				}
			}
			ok = true
		}
		last := len(out.Chords) - 1
		if last >= 0 && out.Chords[last].Chord == now.Chord && out.Chords[last].Why == now.Why {
			out.Chords[last].End = cuts[k+1]
			continue
		}
		now.At, now.End = at, cuts[k+1]
		out.Chords = append(out.Chords, now)
	}
	if last := len(out.Chords) - 1; out.Chords[last].Why == teachersChord {
		out.Then = theory.Chord{}
	}
	return out, ok
}

// checkChoices reports the choices that the page could not follow, each with its
// reason.
func (p *piece) checkChoices(s score.Score) {
	for _, h := range p.fixed.chords {
		if p.locked(p.song.BarAt(h.at)) {
			continue
		}
		if !slices.ContainsFunc(p.slots, func(sl slot) bool { return sl.chord == h.what && sl.at < h.until && sl.end > h.at }) {
			p.refuse(h.by, h.at, "choice-impossible.chord", "Chord", h.what)
		}
	}
	for _, h := range p.fixed.uses {
		used := slices.ContainsFunc(s.Notes, func(n score.Note) bool {
			return n.Origin.Technique == h.what && n.At < h.until && n.End() > h.at
		}) || slices.ContainsFunc(p.slots, func(sl slot) bool {
			return (sl.device == h.what || sl.paint == h.what) && sl.at < h.until && sl.end > h.at
		})
		if used {
			continue
		}
		t, _ := technique.ByID(h.what)
		why := map[technique.Stage]leadsheet.Saying{technique.Device: "choice-impossible.device", technique.Line: "choice-impossible.line", technique.LeftHand: "choice-impossible.left", technique.RightHand: "choice-impossible.right",
			technique.Ornament: "choice-impossible.ornament"}[t.Stage]
		if !p.level.Uses(h.what) && (t.Stage == technique.Device || t.Stage == technique.Line || t.Stage == technique.Ornament) {
			why = "choice-impossible.level"
		}
		p.refuse(h.by, h.at, why, "Technique", t.ID, "Level", p.level.Name)
	}
}
