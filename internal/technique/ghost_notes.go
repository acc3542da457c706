package technique

import (
	"gradatim/internal/sight"
	"gradatim/score"
)

// ghostNotes are the walking line with the note before the last, barely sounding,
// before the next target.
var ghostNotes = &Technique{
	ID: "ghost-notes", Name: "Ghost notes in the bass", Stage: LeftHand, Defines: true,
	What:      "On the last triplet of the approach beat the bass note before it (or the root of the chord just left) sounds once more, half as loud.",
	Needs:     []string{"walking-bass"},
	Left:      func(c Cell) []Figure { return walk(c, true) },
	Recognise: recogniseGhosts,
	Also:      []string{"walking-bass"},
	Teach: Teaching{
		How:      "Barely touch the key: the note is felt rather than heard, and falls with the swing.",
		Practise: []string{"The line without ghosts, then with one a bar."},
		Listen:   "The next beat must not come early.",
		Mistakes: []string{"ghost notes as loud as the line"},
	},
	Drill: BassAlone,
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
