package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// modalInterchange borrows a chord from the parallel minor.
var modalInterchange = &Technique{
	ID: "modal-interchange", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		key := p.Span.Key
		if key.Mode.Minorish() || p.Final || p.First || p.own() {
			return nil
		}
		deg, alter := key.Degree(p.Span.Chord.Root)
		if alter != 0 {
			return nil
		}
		sixth := key.Tonic.Up(theory.Interval{Steps: 5, Semitones: 9}).Class()
		low, five := key.Tonic.Up(theory.Interval{Steps: 5, Semitones: 8}), key.Tonic.Up(fifthUp)
		sinks := []Lead{falls(low, five)}
		switch {
		case deg == 4 && !p.Span.Chord.MinorThird() && p.Next.Sounding():
			to, _ := key.Degree(p.Next.Chord.Root)
			if to != 1 && to != 5 {
				return nil
			}
			iv := theory.Chord{Root: p.Span.Chord.Root, Tones: theory.DegreesOf(deg1, degB3, deg5, deg6)}
			why := reason.BorrowedThird{Third: degB3.On(iv.Root)}
			for _, at := range p.tails(p.shortest()) {
				if !hasClass(p, at, p.Span.End, sixth) {
					return leading(p.insert(at, iv, why, 3), sinks)
				}
			}
		case deg == 2 && p.Span.Chord.MinorThird():
			to, _ := key.Degree(p.Next.Chord.Root)
			if !p.Next.Sounding() || to != 5 || hasClass(p, p.Span.At, p.Span.End, sixth) {
				return nil
			}
			ii := halfDiminishedOn(p.Span.Chord.Root)
			return leading(p.replace(ii, reason.BorrowedFifth{Fifth: degB5.On(ii.Root)}, 8, 1), sinks)
		}
		return nil
	},
	Recognise: recogniseBorrowed,
	Also:      []string{"related-ii", "turnaround"},
	Drill:     ChangedChords,
	Beside:    true,
	Follow: func(key theory.Key, cs []theory.Chord) []Voice { // 6 – ♭6 – 5 of the key
		six, flat, five := key.Tonic.Up(theory.Interval{Steps: 5, Semitones: 9}), key.Tonic.Up(theory.Interval{Steps: 5, Semitones: 8}), key.Tonic.Up(fifthUp)
		has := func(i int, n theory.Name) bool { return i >= 0 && i < len(cs) && cs[i].HasClass(n.Class()) }
		out := make([]Voice, len(cs))
		for i := range cs {
			if !has(i, flat) {
				continue
			}
			out[i] = Voice{flat, true}
			if has(i-1, six) {
				out[i-1] = Voice{six, true}
			}
			if has(i+1, five) && !has(i+1, flat) {
				out[i+1] = Voice{five, true}
			}
			return out
		}
		return nil
	},
}

// recogniseBorrowed finds a minor IV, or a half-diminished ii, in a major key.
func recogniseBorrowed(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool {
		deg, alter := h.Key.Degree(h.Chord().Root)
		return !h.Key.Mode.Minorish() && alter == 0 && (deg == 4 && h.Chord().MinorThird() && !h.Chord().Diminished() || deg == 2 && h.Chord().Diminished() && h.Chord().Tones.Has(degB7))
	})
}
