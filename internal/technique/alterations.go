package technique

import (
	"gradatim/internal/sight"
	"gradatim/theory"
)

// alterations changes the colour notes of a dominant by where it goes.
var alterations = &Technique{
	ID: "alterations", Stage: Device,
	Needs: []string{"extensions"},
	Paint: func(t Toned) []Tint { return tensed(t, alteredSets) },
	Recognise: func(page *sight.Page) []Finding {
		return recogniseDegrees(page, degB9, degS9, degS11, degB13, degS5, degB5)
	},
	Adds: func(ch theory.Chord, d degree) bool {
		return d.Alter != 0 && (d.Number > 7 || d.Number == 5 && ch.Dominant())
	},
	Retell: ColourWhy,
	Drill:  AlteredChords,
}
