package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

// turn goes round the note.
var turn = &Technique{
	ID: "turn", Stage: Ornament,
	Needs: []string{"mordent"},
	Adorn: func(s Spot) []Figure {
		if s.Note.End-s.Note.At < beatOf(s)*3/2 || !onBeat(s) {
			return nil
		}
		return []Figure{{Say: reason.Figure("turn"), Sign: score.Turn}}
	},
	Recognise: func(page *sight.Page) []Finding { return signed(page, score.Turn) },
	Drill:     OrnamentedScale,
	Scale:     OnScale{From: 64, Put: sign(score.Turn)},
}
