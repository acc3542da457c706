package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// suspendedDelay holds the fourth in the place of the third before a cadence.
var suspendedDelay = &Technique{
	ID: "suspended-delay", Stage: Device,
	Needs: []string{"added-notes"},
	Rewrite: func(p Passage) []Rewrite {
		ch := p.Span.Chord
		deg, alter := p.Span.Key.Degree(ch.Root)
		if deg != 5 || alter != 0 || ch.MinorThird() || isSus(ch) || p.Final {
			return nil
		}
		next, nalter := p.Span.Key.Degree(p.Next.Chord.Root)
		if !p.Next.Sounding() || next != 1 || nalter != 0 {
			return nil
		}
		bar := p.Song.Bars[p.Song.BarAt(p.Span.At)]
		half := p.Span.Dur() / 2
		if half < bar.Meter.BeatDur() || half%bar.Meter.BeatDur() != 0 || p.Span.At != bar.At && p.Span.At != bar.At+bar.Dur/2 {
			return nil
		}
		if half < theory.Dur(p.Manner.SuspensionBeats)*bar.Meter.BeatDur() { // too quick for a first suspension
			return nil
		}
		third := theory.Degree{Number: 3}.On(ch.Root).Class()
		for _, m := range melodyIn(p.Song, p.Span.At, p.Span.At+half) {
			if m.Pitch.Class() == third {
				return nil
			}
		}
		for _, m := range melodyIn(p.Song, p.Span.At+half, p.Span.End) { // a tune that keeps the 4th resolves nothing
			if m.Pitch.Class() == add4.On(ch.Root).Class() && (m.At <= p.Span.At+half || m.Dur >= bar.Meter.BeatDur()) {
				return nil
			}
		}
		sus := ch
		sus.Tones = sus.Tones.Without(theory.Degree{Number: 3}).With(add4)
		fourth, thirdName := add4.On(ch.Root), theory.Degree{Number: 3}.On(ch.Root)
		cost := 6
		if p.Cadence || p.Next.End >= p.Song.End() {
			cost = -4
		}
		return []Rewrite{{Cost: cost, Chords: []Chord{
			{At: p.Span.At, End: p.Span.At + half, Chord: sus, Why: reason.Delays{Fourth: fourth, Third: thirdName}},
			{At: p.Span.At + half, End: p.Span.End, Chord: ch, Why: reason.Resolves{Fourth: fourth, Third: thirdName}},
		}}}
	},
	Recognise: recogniseSuspension,
	Also:      []string{"turnaround", "secondary-dominant", "pedal-point"},
	Delays:    true,
	Drill:     ChangedChords,
	Follow: func(_ theory.Key, cs []theory.Chord) []Voice { // the fourth and its third
		out := make([]Voice, len(cs))
		for i := range cs[:len(cs)-1] {
			third, _ := cs[i].Third()
			to, ok := cs[i+1].Third()
			if third.Number == 4 && ok && to.Number == 3 && cs[i].Root == cs[i+1].Root {
				out[i], out[i+1] = Voice{third.On(cs[i].Root), true}, Voice{to.On(cs[i].Root), true}
				return out
			}
		}
		return nil
	},
}

// recogniseSuspension finds a suspended chord that is followed by the same root
// with its third.
func recogniseSuspension(page *sight.Page) []Finding {
	var out []Finding
	sps := page.Spans()
	for i := 0; i+1 < len(sps); i++ {
		a, b := *sps[i].Chord(), *sps[i+1].Chord()
		if isSus(a) && a.Root == b.Root && !isSus(b) && !b.Silent() {
			out = append(out, Finding{At: sps[i].At, End: sps[i+1].End, Detail: a.Pretty() + " – " + b.Pretty()})
		}
	}
	return out
}
