package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// alberti is the broken chord low–high–middle–high.
var alberti = &Technique{
	ID: "alberti", Stage: LeftHand,
	Needs: []string{"broken-triad"},
	Left: func(c Cell) []Figure {
		return figures(c, albertiForms, reason.Figure("alberti"), nil)
	},
	Recognise: recogniseAlberti,
	Drill:     OnOneChord,
}

var albertiForms = forms(
	pattern{Beats: 4, Steps: "1 5 3 5 1 5 n 5", MaxTempo: 132},
	pattern{Beats: 3, Steps: "1 5 3 5 n 5", MaxTempo: 132},
	pattern{Beats: 2, Steps: "1 5 n 5", MaxTempo: 132},
	pattern{Beats: 1, Steps: "1 5", MaxTempo: 132},
)

// recogniseAlberti finds low – high – middle – high in even single notes faster
// than the beat, within an octave.
func recogniseAlberti(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i+3 < len(ps); i++ {
		w := ps[i : i+4]
		even := w[0].Next-w[0].At < w[0].Pulse
		for k := range w {
			even = even && w[k].Lone() && (k == 0 || w[k].At-w[k-1].At == w[1].At-w[0].At)
		}
		if even && w[1].Low() == w[3].Low() && w[0].Low() < w[2].Low() && w[2].Low() < w[1].Low() && w[1].Low()-w[0].Low() <= 12 {
			out = append(out, finding("", w...))
			i += 3
		}
	}
	return out
}
