package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// crush strikes the key a half step below and lets it go at once.
var crush = &Technique{
	ID: "crush", Stage: Ornament,
	Needs: []string{"guide-tones"},
	Adorn: func(s Spot) []Figure {
		p := graceSpelling(s, s.Note.Pitch.Up(halfDown))
		if !onBeat(s) || !chordTone(s) || s.Note.End-s.Note.At < beatOf(s) || s.Before.End > s.Note.At || p.MIDI() == s.Before.Pitch.MIDI() || abs(int(p.Alter)) > 1 {
			return nil
		}
		return []Figure{{Cost: 1, Say: reason.Figure("crush"), Tones: []Tone{grace(s, 1, p)}}}
	},
	Recognise: recogniseCrushes,
	Also:      []string{"slide"}, // from a black key either will do
	Drill:     OrnamentedScale,
	Scale: OnScale{From: 64, Put: func(s ScaleNote) (Adorned, bool) {
		return s.crushed(), true
	}},
}

// recogniseCrushes finds all graces of a half step from below: a slide can be
// crushed too.
func recogniseCrushes(page *sight.Page) []Finding {
	return graces(page, func(sight.Grace) bool { return true })
}
