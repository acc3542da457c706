package technique

import "gradatim/internal/sight"

// secondaryDominant turns a chord whose root falls a fifth into a dominant of
// the next.
var secondaryDominant = &Technique{
	ID: "secondary-dominant", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch, next := p.Span.Chord, p.Next
		if p.First || p.Final || !stable(next) || ch.Dominant() || classesApart(ch.Root, next.Chord.Root) != 5 || ch.Silent() || isSus(ch) {
			return nil
		}
		if ch.Diminished() {
			return nil
		}
		v := seventhOn(ch.Root)
		why := p.dominantOf()
		var out []Rewrite
		if p.Usage.Palette == AllColours { // else the sheet's own chord is heard before it leads on
			out = append(out, p.replace(v, why, 6, 1)...)
		} else if p.Arrives || p.Usage.Palette == Sevenths && p.onTonic() {
			return nil
		}
		for _, at := range p.tails(p.shortest()) {
			out = append(out, p.insert(at, v, why, 4)...)
		}
		return leading(out, leads(v, next.Chord))
	},
	Recognise: recogniseApplied,
	Also:      []string{"inserted-dominant", "style-dominants", "turnaround", "pedal-point"},
	Drill:     ChangedChords,
}

// onTonic tells whether the chord is the key's own.
func (p Passage) onTonic() bool {
	deg, alter := p.Span.Key.Degree(p.Span.Chord.Root)
	return deg == 1 && alter == 0
}

// recogniseApplied finds every dominant of a chord that is not the tonic's own.
func recogniseApplied(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool { return applied(h, 5) })
}
