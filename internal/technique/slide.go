package technique

import (
	"gradatim/internal/hand"
	"gradatim/internal/sight"
	"gradatim/reason"
)

// slide goes from a black key into the white one a half step above it with one
// finger.
var slide = &Technique{
	ID: "slide", Stage: Ornament,
	Needs: []string{"guide-tones"},
	Adorn: func(s Spot) []Figure {
		p := s.Note.Pitch.Up(halfDown)
		if p.Letter == s.Note.Pitch.Letter || !hand.Black(p.MIDI()) {
			p = s.Note.Pitch.Up(raised.Neg())
		}
		if hand.Black(s.Note.Pitch.MIDI()) || !hand.Black(p.MIDI()) || !onBeat(s) || !chordTone(s) || s.Note.End-s.Note.At < beatOf(s) || s.Before.End > s.Note.At {
			return nil
		}
		if s.Before.Pitch.MIDI() == p.MIDI() || s.Before.Pitch.MIDI() == s.Note.Pitch.MIDI() {
			return nil
		}
		return []Figure{{Say: reason.Figure("slide"), Tones: []Tone{grace(s, 1, graceSpelling(s, p))}}}
	},
	Recognise: recogniseSlides,
	Also:      []string{"crush"},
	Drill:     OrnamentedScale,
	Scale: OnScale{From: 64, Put: func(s ScaleNote) (Adorned, bool) {
		if key := s.Note.Pitch.MIDI(); hand.Black(key-1) && !hand.Black(key) {
			return s.crushed(), true
		}
		return Adorned{Note: s.Note}, true
	}},
}

// recogniseSlides finds graces from a black key to a white one.
func recogniseSlides(page *sight.Page) []Finding {
	return graces(page, func(g sight.Grace) bool { return hand.Black(g.Grace.Pitch.MIDI()) && !hand.Black(g.Main.Pitch.MIDI()) })
}
