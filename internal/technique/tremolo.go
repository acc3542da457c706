package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

// tremolo shakes an octave or third through a long note.
var tremolo = &Technique{
	ID: "tremolo", Name: "Tremolo", Stage: Ornament,
	What:  "A long note shakes with its chord tone below, as fast as comes easily.",
	Needs: []string{"octaves"},
	Adorn: func(s Spot) []Figure {
		if s.Note.Pushed || s.Note.End-s.Note.At < 4*beatOf(s) || s.Next.Event < 0 {
			return nil
		}
		return []Figure{{Cost: 3, Say: reason.Figure("tremolo"), Sign: score.Tremolo}}
	},
	Recognise: func(page *sight.Page) []Finding { return signed(page, score.Tremolo) },
	Teach: Teaching{
		How:      "Rotate the forearm; the fingers stay near the keys.",
		Practise: []string{"Four seconds, then rest."},
		Listen:   "A shimmer, no hammering.",
		Mistakes: []string{"a locked wrist"},
		Caution:  "Stop as soon as the forearm tires.",
	},
	Drill: OrnamentedScale,
	Scale: OnScale{Put: sign(score.Tremolo), Wide: true, Words: ", with the tremolo"},
}
