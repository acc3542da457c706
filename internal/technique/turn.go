package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

// turn goes round the note.
var turn = &Technique{
	ID: "turn", Name: "Turn", Stage: Ornament,
	What:  "Upper neighbour, note, lower neighbour, note: once round a longer note.",
	Needs: []string{"mordent"},
	Adorn: func(s Spot) []Figure {
		if s.Note.End-s.Note.At < beatOf(s)*3/2 || !onBeat(s) {
			return nil
		}
		return []Figure{{Say: reason.Figure("turn"), Sign: score.Turn}}
	},
	Recognise: func(page *sight.Page) []Finding { return signed(page, score.Turn) },
	Teach: Teaching{
		How:      "Play the note, then go round it late in its length and on to the next.",
		Practise: []string{"Four even notes first; then delay them."},
		Listen:   "It leans into the next note.",
		Mistakes: []string{"turning too early"},
	},
	Drill: OrnamentedScale,
	Scale: OnScale{Put: sign(score.Turn), Words: ", with the turn"},
}
