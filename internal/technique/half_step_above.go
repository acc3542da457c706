package technique

import "gradatim/internal/sight"

// halfStepAbove slips a dominant a half step above the next chord into the weak
// beat before it.
var halfStepAbove = &Technique{
	ID: "half-step-above", Stage: Device,
	Needs: []string{"tritone-substitution"},
	Rewrite: func(p Passage) []Rewrite {
		if p.Final && !p.Room || p.own() || !p.Next.Sounding() || p.Span.Chord.Silent() || p.Next.Chord.Root.Class() == p.Span.Chord.Root.Class() {
			return nil
		}
		if classesApart(p.Next.Chord.Root, p.Span.Chord.Root) == 1 {
			return nil // it stands there already
		}
		var out []Rewrite
		// Chords that change every half bar make a chain of approaches, in the
		// dominants of the style where it has them.
		chain := p.Manner.ApproachChain && p.Usage.FreeDominants && 2*p.Span.Dur() <= p.meter().Bar()
		own, ownStyled := styleDominant(p)
		then, thenStyled := styledNext(p)
		if chain && ownStyled {
			goal := p.Next.Chord
			if thenStyled {
				goal = then
			}
			for _, rw := range slideInto(p, own, goal, -4) {
				rw.Chain, rw.Then = true, goal
				rw.Chords[0].Why = styleDominantWhy(p, own)
				out = append(out, rw)
			}
		}
		cost := 11
		if p.Usage.FreeDominants && p.Manner.ApproachChain {
			cost = 3
		}
		for _, rw := range slideInto(p, p.Span.Chord, p.Next.Chord, cost) {
			rw.Chain = chain
			out = append(out, rw)
		}
		return out
	},
	Recognise: recogniseFromAbove,
	Also:      []string{"tritone-substitution", "style-dominants"},
	Drill:     ChangedChords,
}

// recogniseFromAbove finds those of them that last no longer than the chord
// before: they only lead on.
func recogniseFromAbove(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool {
		return applied(h, 11) && !h.Before.Silent() && h.End-h.At <= h.Lasted
	})
}
