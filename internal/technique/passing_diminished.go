package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// insertFirst inserts a chord at the latest possible place.
func (p Passage) insertFirst(least theory.Dur, ch theory.Chord, why reason.Reason, cost int) []Rewrite {
	for _, at := range p.tails(least) {
		if rw := p.insert(at, ch, why, cost); rw != nil {
			return rw
		}
	}
	return nil
}

// passingDiminished fills the whole step between two roots, upwards or down from
// iii to ii.
var passingDiminished = &Technique{
	ID: "passing-diminished", Stage: Device,
	Needs: []string{"leading-diminished"},
	Rewrite: func(p Passage) []Rewrite {
		ch, next := p.Span.Chord, p.Next
		if p.Final || !next.Sounding() || ch.Silent() || ch.Slash || ch.Diminished() {
			return nil
		}
		deg, alter := p.Span.Key.Degree(ch.Root)
		to, talter := p.Span.Key.Degree(next.Chord.Root)
		switch classesApart(ch.Root, next.Chord.Root) {
		case 2:
			dim := diminishedOn(p.friendly(ch.Root.Up(raised)))
			why := reason.Clauses(reason.Between{From: ch.Root, To: next.Chord.Root},
				reason.StandsFor{Dominant: flatNinthOn(next.Chord.Root.Up(fifthUp))})
			return leading(p.insertFirst(p.shortest(), dim, why, 1), bassSteps(dim.Root, next.Chord.Root))
		case 10:
			if deg == 3 && to == 2 && alter == 0 && talter == 0 && !p.Span.Key.Mode.Minorish() {
				dim := diminishedOn(p.friendly(next.Chord.Root.Up(halfUp)))
				why := reason.Because{What: reason.Between{From: ch.Root, To: next.Chord.Root}, Why: reason.Fact("diatonic-passing")}
				return leading(p.insertFirst(p.shortest(), dim, why, 1), bassSteps(dim.Root, next.Chord.Root))
			}
		}
		return nil
	},
	Recognise: recognisePassing,
	Drill:     ChangedChords,
}

// recognisePassing finds diminished sevenths between two roots a whole step
// apart.
func recognisePassing(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool { return diminished(h) && passes(h) })
}

// diminished tells whether a chord is a diminished seventh.
func diminished(h sight.Harmony) bool { return h.Chord().Diminished() && h.Chord().Tones.Has(degBB7) }

// passes tells whether the roots before and after lie a whole step apart with the
// chord's own between them.
func passes(h sight.Harmony) bool {
	if h.Before.Silent() || h.Next.Silent() {
		return false
	}
	in, out := classesApart(h.Before.Root, h.Chord().Root), classesApart(h.Chord().Root, h.Next.Root)
	return in == 1 && out == 1 || in == 11 && out == 11
}
