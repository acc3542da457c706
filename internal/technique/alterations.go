package technique

import "gradatim/internal/sight"

// alterations changes the colour notes of a dominant by where it goes.
var alterations = &Technique{
	ID: "alterations", Stage: Device,
	Needs: []string{"extensions"},
	Paint: func(t Toned) []Tint { return tensed(t, alteredSets) },
	Recognise: func(page *sight.Page) []Finding {
		return recogniseDegrees(page, degB9, degS9, degS11, degB13, degS5, degB5)
	},
	Drill: TwoFiveOne,
}
