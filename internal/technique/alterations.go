package technique

import (
	"gradatim/internal/sight"
	"gradatim/theory"
)

// alterations changes the colour notes of a dominant by where it goes.
var alterations = &Technique{
	ID: "alterations", Name: "Altered dominants", Stage: Device,
	What:  "A dominant's 9th or 13th is lowered or its 9th raised: ♭9 where its root falls a fifth, ♭13 too before a minor chord, ♯11 where it does not fall.",
	Needs: []string{"extensions"},
	Paint: func(t Toned) []Tint { return tensed(t, alteredSets) },
	Recognise: func(page *sight.Page) []Finding {
		return recogniseDegrees(page, degB9, degS9, degS11, degB13, degS5, degB5)
	},
	Adds: func(ch theory.Chord, d degree) bool {
		return d.Alter != 0 && (d.Number > 7 || d.Number == 5 && ch.Dominant())
	},
	Retell: ColourWhy,
	Teach: Teaching{
		How:      "Keep third and seventh; move only the colour note by a half step and let it resolve by a half step.",
		Practise: []string{"V7 with ♭9, then its chord of resolution; say where the ♭9 goes."},
		Listen:   "The altered note leans; hear where it falls.",
		Mistakes: []string{"altering against the tune"},
	},
	Drill: AlteredChords,
}
