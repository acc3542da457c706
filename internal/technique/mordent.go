package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

// mordent goes to the lower neighbour and back.
var mordent = &Technique{
	ID: "mordent", Stage: Ornament,
	Needs: []string{"slide"},
	Adorn: func(s Spot) []Figure {
		if !onBeat(s) || s.Note.End-s.Note.At < beatOf(s) || s.Cell.beatTempo() > 120 {
			return nil
		}
		return []Figure{{Cost: 1, Say: reason.Figure("mordent"), Sign: score.Mordent}}
	},
	Recognise: func(page *sight.Page) []Finding { return signed(page, score.Mordent, score.UpperMordent) },
	Drill:     OrnamentedScale,
	Scale:     OnScale{From: 64, Put: sign(score.Mordent)},
}
