package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

// mordent goes to the lower neighbour and back.
var mordent = &Technique{
	ID: "mordent", Name: "Mordent", Stage: Ornament,
	What:  "The note, its lower neighbour and the note again, quickly, on the beat.",
	Needs: []string{"slide"},
	Adorn: func(s Spot) []Figure {
		if !onBeat(s) || s.Note.End-s.Note.At < beatOf(s) || s.Cell.beatTempo() > 120 {
			return nil
		}
		return []Figure{{Cost: 1, Say: reason.Figure("mordent"), Sign: score.Mordent}}
	},
	Recognise: func(page *sight.Page) []Finding { return signed(page, score.Mordent, score.UpperMordent) },
	Teach: Teaching{
		How:      "Three quick notes in the time of one, the first on the beat.",
		Practise: []string{"Slowly as a triplet, then faster, loose wrist."},
		Listen:   "The beat does not wait.",
		Mistakes: []string{"starting before the beat"},
	},
	Drill: OrnamentedScale,
	Scale: OnScale{Put: sign(score.Mordent), Words: ", with the mordent"},
}
