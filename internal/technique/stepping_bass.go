package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// steppingBass uses inversions so that the bass moves by step.
var steppingBass = &Technique{
	ID: "stepping-bass", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		if p.First || p.Final || p.Arrives || ch.Slash || !p.Prev.Sounding() || !p.Next.Sounding() || p.Span.Dur() > p.meter().Bar() || p.Usage.FreeDominants || ch.Diminished() || isSus(ch) {
			return nil
		}
		third, ok := ch.Third()
		if !ok {
			return nil
		}
		bass := third.On(ch.Root)
		before, after := p.Prev.Chord.Lowest(), p.Next.Chord.Lowest()
		in, out := stepBetween(before, bass), stepBetween(bass, after)
		if in == 0 || out == 0 || in*out < 0 {
			return nil
		}
		slash := ch
		slash.Slash, slash.Bass = true, bass
		var why reason.Reason = reason.BassDescends{From: before, Via: bass, To: after}
		if in > 0 {
			why = reason.BassClimbs{From: before, Via: bass, To: after}
		}
		return []Rewrite{{Cost: 1, Chords: []Chord{{At: p.Span.At, End: p.Span.End, Chord: slash, Why: why}}}}
	},
	Recognise: recogniseSteppingBass,
	Drill:     ChordBasses,
}

// stepBetween returns +1 or −1 (or ±2) where two names are a step apart, else 0.
func stepBetween(a, b theory.Name) int {
	switch d := classesApart(a, b); d {
	case 1, 2:
		return d
	case 10, 11:
		return d - 12
	}
	return 0
}

// recogniseSteppingBass finds chords over their third or fifth whose bass lies a
// step from the one before and a step, the same way, from the next.
func recogniseSteppingBass(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool {
		ch := h.Chord()
		if !ch.Slash || ch.Bass == ch.Root || h.Before.Silent() || h.Next.Silent() || !ch.HasClass(ch.Bass.Class()) {
			return false
		}
		in, out := stepBetween(h.Before.Lowest(), ch.Bass), stepBetween(ch.Bass, h.Next.Lowest())
		return in*out > 0
	})
}
