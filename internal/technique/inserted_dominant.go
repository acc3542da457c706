package technique

import "gradatim/internal/sight"

// insertedDominant gives the end of a long chord to the next chord's dominant.
var insertedDominant = &Technique{
	ID: "inserted-dominant", Stage: Device,
	Needs: []string{"secondary-dominant"},
	Rewrite: func(p Passage) []Rewrite {
		next := p.Next
		if p.Final || p.own() || !stable(next) || p.Span.Chord.Silent() || next.Chord.Root == p.Span.Chord.Root || classesApart(p.Span.Chord.Root, next.Chord.Root) == 5 && p.Span.Chord.Dominant() {
			return nil
		}
		v := seventhOn(next.Chord.Root.Up(fifthUp))
		if v.Root.Class() == p.Span.Chord.Root.Class() {
			return nil
		}
		why := p.dominantOf()
		least := p.shortest()
		if p.Manner.QuickChords {
			least = p.weak()
		}
		var out []Rewrite
		for i, at := range p.tails(least) {
			out = append(out, p.insert(at, v, why, 4+i)...)
		}
		return leading(out, leads(v, next.Chord))
	},
	Recognise: recogniseInserted,
	Also:      []string{"secondary-dominant", "style-dominants", "turnaround", "pedal-point"},
	Drill:     ChangedChords,
}

// recogniseInserted finds dominants of the next chord, the key's own V included,
// that take the end of another chord's time.
func recogniseInserted(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool {
		return h.Chord().Dominant() && !h.Next.Silent() && classesApart(h.Chord().Root, h.Next.Root) == 5 &&
			!h.Before.Silent() && h.Before.Root != h.Chord().Root && h.End-h.At <= h.Lasted && h.OffBar
	})
}
