package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// backdoor comes home through the flat seventh degree.
var backdoor = &Technique{
	ID: "backdoor", Stage: Device,
	Needs: []string{"related-ii", "modal-interchange"},
	Rewrite: func(p Passage) []Rewrite {
		key := p.Span.Key
		deg, alter := key.Degree(p.Span.Chord.Root)
		to, talter := key.Degree(p.Next.Chord.Root)
		if key.Mode.Minorish() || p.Cadence || deg != 5 || alter != 0 || !p.Next.Sounding() || to != 1 || talter != 0 || p.Next.Chord.MinorThird() {
			return nil
		}
		four := minorSeventhOn(key.Tonic.Up(theory.Interval{Steps: 3, Semitones: 5}))
		seven := seventhOn(key.Tonic.Up(theory.Interval{Steps: 6, Semitones: 10}))
		for _, m := range melodyIn(p.Song, p.Span.At, p.Span.End) { // natural 6 and 7 of the key
			if c := classesApart(key.Tonic, m.Pitch.Name); c == 9 || c == 11 {
				return nil
			}
		}
		why := reason.StepBelow{Chord: seven, Tonic: key.Tonic}
		seventh, fifth := degB7.On(seven.Root), key.Tonic.Up(fifthUp)
		goes := append(bassSteps(seven.Root, key.Tonic), falls(seventh, fifth))
		half := p.Span.Dur() / 2
		if half < p.shortest() || half%p.pulse() != 0 {
			return leading(p.replace(seven, why, 8, 1), goes)
		}
		mid := p.Span.At + half
		if harmony.Fits(p.Song, four, p.Span.At, mid).Verdict == harmony.Refused || harmony.Fits(p.Song, seven, mid, p.Span.End).Verdict == harmony.Refused {
			return nil
		}
		return []Rewrite{{Cost: 8, Chromatic: 1, Chords: []Chord{
			{At: p.Span.At, End: mid, Chord: four, Why: reason.Fact("borrowed-iv")},
			{At: mid, End: p.Span.End, Chord: seven, Why: why, Leads: goes},
		}}}
	},
	Recognise: recogniseBackdoor,
	Also:      []string{"modal-interchange", "related-ii"},
	Drill:     ChangedChords,
}

func hasClass(p Passage, from, to theory.Dur, class int) bool {
	for _, m := range melodyIn(p.Song, from, to) {
		if m.Pitch.Class() == class {
			return true
		}
	}
	return false
}

// recogniseBackdoor finds ♭VII7 stepping up to the tonic.
func recogniseBackdoor(page *sight.Page) []Finding {
	return changes(page, func(h sight.Harmony) bool { return applied(h, 2) && h.Next.Root == h.Key.Tonic })
}
