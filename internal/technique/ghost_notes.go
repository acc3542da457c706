package technique

import (
	"gradatim/internal/sight"
	"gradatim/score"
)

// ghostNotes are the walking line with the note before the last, barely sounding,
// before the next target.
var ghostNotes = &Technique{
	ID: "ghost-notes", Stage: LeftHand, Sings: true, Defines: true,
	Needs:     []string{"walking-bass"},
	Left:      func(c Cell) []Figure { return walk(c, true) },
	Recognise: recogniseGhosts,
	Also:      []string{"walking-bass"},
	Drill:     BassAlone,
}

func recogniseGhosts(page *sight.Page) []Finding {
	var out []Finding
	for _, n := range page.Score.Notes {
		if n.Marks.Has(score.Ghost) {
			out = append(out, Finding{At: n.At, End: n.End(), Notes: []string{n.ID}, Detail: n.Pitch.Pretty()})
		}
	}
	return out
}
