package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// pedalPoint holds the dominant in the bass before a cadence.
var pedalPoint = &Technique{
	ID: "pedal-point", Stage: Device,
	Needs: []string{"seventh-chords"},
	Rewrite: func(p Passage) []Rewrite {
		ch, next := p.Span.Chord, p.Next
		if p.Usage.FreeDominants || ch.Slash || !next.Sounding() || p.First {
			return nil
		}
		deg, alter := p.Span.Key.Degree(ch.Root)
		to, talter := p.Span.Key.Degree(next.Chord.Root)
		if deg != 2 && deg != 4 || to != 5 || alter != 0 || talter != 0 || next.Chord.Slash || p.Span.Dur() < p.meter().Bar() {
			return nil
		}
		slash := ch
		slash.Slash, slash.Bass = true, next.Chord.Root
		return []Rewrite{{Cost: 3, Chords: []Chord{{At: p.Span.At, End: p.Span.End, Chord: slash,
			Why: reason.StaysAsPedal{Bass: next.Chord.Root}}}}}
	},
	Recognise: recognisePedal,
	Drill:     ChordBasses,
}

// recognisePedal finds two and more chords in a row over one bass that is not the
// root of all of them.
func recognisePedal(page *sight.Page) []Finding {
	var out []Finding
	sps := page.Spans()
	for i := 0; i < len(sps); {
		j := i
		foreign := false
		for j < len(sps) && !sps[j].Chord().Silent() && sps[j].Chord().Lowest() == sps[i].Chord().Lowest() {
			foreign = foreign || sps[j].Chord().Root != sps[j].Chord().Lowest()
			j++
		}
		if j-i >= 2 && foreign {
			out = append(out, Finding{At: sps[i].At, End: sps[j-1].End, Detail: sps[i].Chord().Lowest().Pretty() + " stays in the bass"})
		}
		i = max(j, i+1)
	}
	return out
}
