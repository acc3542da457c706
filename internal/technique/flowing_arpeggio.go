package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// flowingArpeggio breaks the chord up to the tenth and back in even notes, without
// rest: the left hand of songs and nocturnes.
var flowingArpeggio = &Technique{
	ID: "flowing-arpeggio", Stage: LeftHand,
	Needs: []string{"ballad-spread"},
	Left: func(c Cell) []Figure {
		out := figures(c, flowingForms, reason.Figure("flowing-arpeggio"), nil)
		for i := range out {
			out[i].Pedal = true
		}
		return out
	},
	Recognise: recogniseFlowing,
	Also:      []string{"ballad-spread", "compound-spread", "one-five-eight", "spread-tenth"},
	Drill:     AroundChords,
}

var flowingForms = forms(
	pattern{Beats: 4, Steps: "R 5 7 10 7 5 7 5", MaxTempo: 104},
	pattern{Beats: 3, Steps: "R 5 7 10 7 5", MaxTempo: 116},
	pattern{Beats: 2, Steps: "R 5 7 10", MaxTempo: 104},
	pattern{Beats: 1, Steps: "R 5", MaxTempo: 104},
	pattern{Beats: 2, Compound: true, Steps: "R 5 7 10 7 5", MaxTempo: 76},
	pattern{Beats: 1, Compound: true, Steps: "R 5 7", MaxTempo: 76},
)

// recogniseFlowing finds four or more single notes in even values that climb from
// a root past its octave and, where the bar goes on, turn back.
func recogniseFlowing(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i < len(ps); {
		j := i + 1
		for j < len(ps) && ps[j].Lone() && ps[j].Bar == ps[i].Bar && ps[j].From == ps[i].From && ps[j].At == ps[j-1].End && ps[j].Dur() == ps[i].Dur() {
			j++
		}
		top := ps[i].Low()
		for k := i + 1; k < j && ps[k].Low() > top; k++ {
			top = ps[k].Low()
		}
		if j-i >= 4 && ps[i].Lone() && top-ps[i].Low() >= 14 && ps[i].Known() && ps[i].Notes[0].Pitch.Class() == ps[i].Chord.Root.Class() {
			out = append(out, finding("", ps[i:j]...))
		}
		i = j
	}
	return out
}
