package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// balladSpread opens the chord upwards through more than an octave under the
// pedal.
var balladSpread = &Technique{
	ID: "ballad-spread", Stage: LeftHand,
	Needs: []string{"broken-triad", "added-notes"},
	Left: func(c Cell) []Figure {
		if c.Dur() == c.Pulse() { // no time for a wide chord
			return nil
		}
		out := figures(c, spreadForms, reason.Figure("ballad-spread"), nil)
		for i := range out {
			out[i].Pedal = true
		}
		return out
	},
	Recognise: recogniseSpread,
	Also:      []string{"one-five-eight", "root-and-fifth", "flowing-arpeggio"},
	Drill:     AroundChords,
}

var spreadForms = forms(
	pattern{Beats: 4, Steps: "R 5 x y - - - -", MaxTempo: 120},
	pattern{Beats: 4, Steps: "R - 5 - t - - -", MaxTempo: 120, Cost: 2},
	pattern{Beats: 3, Steps: "R 5 x y - -", MaxTempo: 120},
	pattern{Beats: 3, Steps: "R - 5 - t -", MaxTempo: 120, Cost: 2},
	pattern{Beats: 2, Steps: "R 5 x y", MaxTempo: 84},
	pattern{Beats: 2, Steps: "R 5 t -", MaxTempo: 120, Cost: 1},
	pattern{Beats: 2, Steps: "R 5 8 -", MaxTempo: 120, Cost: 2},
	pattern{Beats: 2, Steps: "R 5 3 -", MaxTempo: 120, Cost: 3},
	pattern{Beats: 1, Steps: "R 5", MaxTempo: 120},
)

// recogniseSpread finds root, fifth and notes above the octave, one after the
// other.
func recogniseSpread(page *sight.Page) []Finding {
	return climbs(page, func(run []sight.Play, after *sight.Play) bool {
		return !run[0].Compound && run[0].Next-run[0].At <= run[0].Pulse && !hasSeventh(run, after)
	})
}

// climbs finds the climbing lines that are of a kind.
func climbs(page *sight.Page, is func(run []sight.Play, after *sight.Play) bool) []Finding {
	var out []Finding
	for _, run := range page.Climbs(is) {
		out = append(out, finding("", run...))
	}
	return out
}

// hasSeventh tells whether a note of a climb is the chord's seventh or sixth.
func hasSeventh(run []sight.Play, after *sight.Play) bool {
	for _, p := range run[1:] {
		if d, ok := p.Degree(p.Notes[0]); ok && (d.Number == 6 || d.Number == 7) {
			return true
		}
	}
	if after == nil || !after.Lone() || after.From != run[0].From || after.Bar != run[0].Bar {
		return false
	}
	d, ok := after.Degree(after.Notes[0])
	return ok && (d.Number == 6 || d.Number == 7)
}
