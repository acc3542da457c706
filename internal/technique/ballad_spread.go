package technique

import "gradatim/reason"

// balladSpread opens the chord upwards through more than an octave under the
// pedal.
var balladSpread = &Technique{
	ID: "ballad-spread", Name: "Wide broken chord", Level: 2, Stage: LeftHand,
	What:  "Root, fifth, then the added note and the tenth: the hand travels upwards under the pedal. In half a bar it may stay and play the notes between.",
	Needs: []string{"broken-triad", "added-notes"},
	Left: func(c Cell) []Figure {
		if c.Dur() == c.Pulse() { // no time for a wide chord
			return nil
		}
		out := FromForms(c, spreadForms, reason.Figure("ballad-spread"), nil)
		for i := range out {
			out[i].Pedal = true
		}
		return out
	},
	Recognise: recogniseSpread,
	Teach: Teaching{
		How:      "Fingers 5 and 2 for root and fifth, then let the hand travel to what lies above; the pedal holds what you leave.",
		Practise: []string{"Without pedal first, looking only at the landing of the upper notes.", "Then with pedal, changed with each chord."},
		Listen:   "No bump where the hand travels; the top note rings.",
		Mistakes: []string{"stretching for the tenth instead of travelling", "late pedal"},
		Caution:  "Let the hand travel: nothing here needs a stretch. Stop if anything hurts, and ask a teacher.",
	},
	Drill: Drill{AroundChords, "The wide figure on each chord of the tune."},
}

var spreadForms = []Form{
	{Beats: 4, Steps: "R 5 x y - - - -", MaxTempo: 120},
	{Beats: 4, Steps: "R - 5 - t - - -", MaxTempo: 120, Cost: 2},
	{Beats: 3, Steps: "R 5 x y - -", MaxTempo: 120},
	{Beats: 3, Steps: "R - 5 - t -", MaxTempo: 120, Cost: 2},
	{Beats: 2, Steps: "R 5 x y", MaxTempo: 84},
	{Beats: 2, Steps: "R 5 t -", MaxTempo: 120, Cost: 1},
	{Beats: 2, Steps: "R 5 3+n -", MaxTempo: 120, Cost: 3},
	{Beats: 1, Steps: "R 5", MaxTempo: 120},
}
