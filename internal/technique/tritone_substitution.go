package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// tritoneSubstitution replaces a dominant by the one a tritone away.
var tritoneSubstitution = &Technique{
	ID: "tritone-substitution", Stage: Device,
	Needs: []string{"secondary-dominant"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		if p.First || p.Final || !ch.Dominant() || isSus(ch) || ch.Slash || p.own() || !stable(p.Next) || classesApart(ch.Root, p.Next.Chord.Root) != 5 {
			return nil
		}
		sub := seventhOn(p.friendly(p.Next.Chord.Root.Up(halfUp)))
		why := reason.SubstituteFor{Dominant: seventhOn(ch.Root), Third: deg3.On(ch.Root), Seventh: degB7.On(ch.Root)}
		var out []Rewrite
		if !p.Cadence && p.substitutes(sub, p.Span.At, p.Span.End) {
			out = append(out, p.replace(sub, why, 6, 1)...)
		}
		for _, at := range p.tails(p.shortest()) {
			if p.substitutes(sub, at, p.Span.End) {
				out = append(out, p.insert(at, sub, why, 4)...)
			}
		}
		return leading(out, bassSteps(sub.Root, p.Next.Chord.Root))
	},
	Recognise: recogniseSubstitutes,
	Also:      []string{"half-step-above", "style-dominants"},
	Drill:     ChangedChords,
}

// slideInto plays a chord and, on the last weak beat, the dominant a half step
// above the goal.
func slideInto(p Passage, own, goal theory.Chord, cost int) []Rewrite {
	sub := seventhOn(p.friendly(goal.Root.Up(halfUp)))
	if sub.Root.Class() == own.Root.Class() {
		return nil
	}
	why := reason.HalfStepAbove{Goal: goal.Root}
	places := p.tails(p.weak())
	if len(places) == 0 || !fitsPart(p, own, places[0]) || !p.substitutes(sub, places[0], p.Span.End) {
		return nil
	}
	p.Span.Chord = own
	return leading(p.insert(places[0], sub, why, cost), bassSteps(sub.Root, goal.Root))
}

// recogniseSubstitutes finds dominants a half step above the root that they lead
// to.
func recogniseSubstitutes(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool { return applied(h, 11) })
}
