package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

// tremolo shakes an octave or third through a long note.
var tremolo = &Technique{
	ID: "tremolo", Stage: Ornament,
	Needs: []string{"octaves"},
	Adorn: func(s Spot) []Figure {
		if s.Note.Pushed || s.Note.End-s.Note.At < 4*beatOf(s) || s.Next.Event < 0 {
			return nil
		}
		return []Figure{{Cost: 3, Say: reason.Figure("tremolo"), Sign: score.Tremolo}}
	},
	Recognise: func(page *sight.Page) []Finding { return signed(page, score.Tremolo) },
	Drill:     OrnamentedScale,
	Scale:     OnScale{From: 64, Put: sign(score.Tremolo), Wide: true},
}
