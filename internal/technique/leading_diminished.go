package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// leadingDiminished slips the diminished chord on the target's leading tone into
// the weak beat before it.
var leadingDiminished = &Technique{
	ID: "leading-diminished", Stage: Device,
	Needs: []string{"secondary-dominant"},
	Rewrite: func(p Passage) []Rewrite {
		if p.Final || p.own() || !stable(p.Next) || p.Span.Chord.Silent() {
			return nil
		}
		dim := diminishedOn(p.friendly(p.Next.Chord.Root.Up(halfDown)))
		if apart := classesApart(p.Span.Chord.Root, p.Next.Chord.Root); apart == 2 || apart == 0 || apart == 1 {
			return nil // the passing diminished, or nowhere to go
		}
		if p.Span.Chord.Dominant() && p.Span.Chord.Root.Class() == p.Next.Chord.Root.Up(fifthUp).Class() {
			return nil // the dominant leads there already; said at the end of each phrase it is a habit
		}
		why := reason.Rootless{Dominant: flatNinthOn(p.Next.Chord.Root.Up(fifthUp))}
		return leading(p.insertFirst(p.weak(), dim, why, 6), bassSteps(dim.Root, p.Next.Chord.Root))
	},
	Recognise: recogniseLeading,
	Drill:     ChangedChords,
}

// recogniseLeading finds diminished sevenths a half step below the next root.
func recogniseLeading(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool {
		return diminished(h) && !passes(h) && !h.Next.Silent() && classesApart(h.Chord().Root, h.Next.Root) == 1
	})
}
