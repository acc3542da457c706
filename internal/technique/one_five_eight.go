package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// oneFiveEight opens the hand to the octave and stays there.
var oneFiveEight = &Technique{
	ID: "one-five-eight", Stage: LeftHand,
	Needs: []string{"broken-triad"},
	Left: func(c Cell) []Figure {
		out := figures(c, oneFiveEightForms, reason.Figure("one-five-eight"), nil)
		for i := range out {
			out[i].Pedal = true
			if f := &out[i]; len(f.Tones) > 1 && f.Top()-f.Bottom() < 12 { // no time for the octave
				f.By, f.Say = rootAndFifth.ID, reason.Figure("root-and-fifth")
			}
		}
		return out
	},
	Recognise: recogniseOpenHand,
	Also:      []string{"ballad-spread", "compound-spread", "flowing-arpeggio"},
	Drill:     AroundChords,
	Unseen:    "a chord of one beat has its root alone",
}

var oneFiveEightForms = forms(
	pattern{Beats: 4, Steps: "R 5 x -"},
	pattern{Beats: 3, Steps: "R 5 x"},
	pattern{Beats: 2, Steps: "R 5"},
	pattern{Beats: 1, Steps: "R"},
	pattern{Beats: 2, Compound: true, Steps: "R 5 x - - -"},
	pattern{Beats: 1, Compound: true, Steps: "R 5 8"},
)

// recogniseOpenHand finds the same at the pace of the beat; in compound time three notes
// of which the last stays, which rolls on in a wide chord.
func recogniseOpenHand(page *sight.Page) []Finding {
	return climbs(page, func(run []sight.Play, after *sight.Play) bool {
		if hasSeventh(run, after) {
			return false
		}
		first := run[0].Next - run[0].At
		if run[0].Compound {
			return len(run) == 3 && run[1].Next-run[1].At == first && run[2].Dur() > first
		}
		return first == run[0].Pulse
	})
}
