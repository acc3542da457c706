package technique

import "gradatim/reason"

// alberti is the broken chord low–high–middle–high.
var alberti = &Technique{
	ID: "alberti", Name: "Alberti bass", Level: 2, Stage: LeftHand,
	What:  "The chord is broken low – high – middle – high, in even eighths.",
	Needs: []string{"broken-triad"},
	Left: func(c Cell) []Figure {
		return FromForms(c, albertiForms, reason.Figure("alberti"), nil)
	},
	Recognise: recogniseAlberti,
	Teach: Teaching{
		How:      "5–1–3–1 with a quiet hand; the weight rests on the little finger's note.",
		Practise: []string{"Block chord first, then broken.", "Very soft, with the tune loud."},
		Listen:   "The top note must not hammer.",
		Mistakes: []string{"thumb too loud", "uneven eighths"},
		Caution:  "Loosen the hand every few bars; the figure repeats, so rest before it tires.",
	},
	Drill: Drill{OnOneChord, "The figure on one chord, soft and even."},
}

var albertiForms = []Form{
	{Beats: 4, Steps: "1 5 3 5 1 5 n 5", MaxTempo: 132},
	{Beats: 3, Steps: "1 5 3 5 n 5", MaxTempo: 132},
	{Beats: 2, Steps: "1 5 n 5", MaxTempo: 132},
	{Beats: 1, Steps: "1 5", MaxTempo: 132},
}
