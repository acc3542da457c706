package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// relatedTwo puts a dominant's own ii before it.
var relatedTwo = &Technique{
	ID: "related-ii", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		if !ch.Dominant() || isSus(ch) || ch.Slash || p.Final {
			return nil
		}
		half := p.Span.Dur() / 2
		if half < p.shortest() || half%p.pulse() != 0 {
			return nil
		}
		two := minorSeventhOn(ch.Root.Up(fifthUp))
		if p.Prev.Sounding() && p.Prev.Chord.Root.Class() == two.Root.Class() {
			return nil
		}
		chromatic := 1
		prepares := reason.Fact("related-ii")
		if p.Next.Sounding() && p.Next.Chord.MinorThird() && classesApart(ch.Root, p.Next.Chord.Root) == 5 {
			two = halfDiminishedOn(two.Root)
			prepares = "related-half-diminished"
		}
		if p.Span.Key.Contains(two.Root) && inKey(p.Span.Key, two.Root, deg5) && inKey(p.Span.Key, two.Root, degB3) {
			chromatic = 0
		}
		mid := p.Span.At + half
		first := p
		first.Span.End = mid
		var out []Rewrite
		why := reason.Because{What: prepares, Why: reason.FallsFifth{From: two.Root, To: ch.Root}}
		for _, rw := range first.replace(two, why, 2, chromatic) {
			rw.Chords = append(rw.Chords, Chord{At: mid, End: p.Span.End, Chord: ch})
			out = append(out, rw)
		}
		return out
	},
	Recognise: recogniseTwoFive,
	Drill:     ChangedChords,
}

// recogniseTwoFive finds a minor or half-diminished seventh whose root falls a
// fifth to a dominant no longer than itself.
func recogniseTwoFive(page *sight.Page) []Finding {
	var out []Finding
	sps := page.Spans()
	for i := 0; i+1 < len(sps); i++ {
		a, b := *sps[i].Chord(), *sps[i+1].Chord()
		if a.MinorThird() && a.Tones.Has(degB7) && b.Dominant() && !isSus(b) && classesApart(a.Root, b.Root) == 5 {
			out = append(out, Finding{At: sps[i].At, End: sps[i].End, Detail: a.Pretty() + " – " + b.Pretty()})
		}
	}
	return out
}
