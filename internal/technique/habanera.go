package technique

import (
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// habanera is the bass of the contradance that came from Cuba, and of the tango
// after it: long, short, even, even. Common practice; the basses of Yradier's "La
// paloma" and of Bizet's habanera, from memory.
var habanera = &Technique{
	ID: "habanera", Stage: LeftHand,
	Needs: []string{"root-and-fifth", "counting eighths"},
	Left: func(c Cell) []Figure {
		bar, at := c.Meter.Bar(), c.At-c.BarAt
		if c.Swing || c.Meter.Compound() || bar != 4*c.Pulse() && bar != 2*c.Pulse() {
			return nil
		}
		first, second := habaneraFirst, habaneraSecond
		if bar == 2*c.Pulse() {
			first, second = habaneraQuick, habaneraQuickSecond
		}
		var out []Figure
		switch {
		case at == 0:
			out = figures(c, first, reason.Figure("habanera"), nil)
		case 2*at == bar:
			out = figures(c, second, reason.Figure("habanera.second"), nil)
		case 4*at == 3*bar: // the last beat has a chord of its own
			out = figures(c, habaneraSecond, reason.Figure("habanera.second"), nil)
		}
		for i := range out {
			out[i].Dotted = true
		}
		return lone(out)
	},
	Recognise: recogniseHabanera,
	Also:      []string{"three-three-two"}, // its first half is 3+1
	Drill:     OnOneChord,
}

var (
	habaneraFirst = forms( // from the bar's first beat, in four
		pattern{Beats: 4, Steps: "R - - 5 7 - 5 -", MaxTempo: 160},
		pattern{Beats: 4, Steps: "R - - 5 8 - 5 -", MaxTempo: 160, Cost: 1},
		pattern{Beats: 4, Steps: "R - - 5 3 - 5 -", MaxTempo: 160, Cost: 1},
		pattern{Beats: 3, Steps: "R - - 5 8 -", MaxTempo: 160},
		pattern{Beats: 2, Steps: "R - - 5", MaxTempo: 160},
		pattern{Beats: 1, Steps: "R", MaxTempo: 160},
	)
	habaneraSecond = forms( // from its middle
		pattern{Beats: 2, Steps: "R 5", MaxTempo: 160},
		pattern{Beats: 1, Steps: "R", MaxTempo: 160},
	)
	habaneraQuick = forms( // in two, at half the values
		pattern{Beats: 2, Steps: "R - - 5 7 - 5 -", MaxTempo: 80},
		pattern{Beats: 2, Steps: "R - - 5 8 - 5 -", MaxTempo: 80, Cost: 1},
		pattern{Beats: 2, Steps: "R - - 5 3 - 5 -", MaxTempo: 80, Cost: 1},
		pattern{Beats: 1, Steps: "R - - 5", MaxTempo: 80},
	)
	habaneraQuickSecond = forms(
		pattern{Beats: 1, Steps: "R 5", MaxTempo: 80},
	)
)

// recogniseHabanera finds left-hand bars of two or four straight beats that are
// struck four times, after three eighths, four and six of their length, the bass on
// the first; the others may be chords.
func recogniseHabanera(page *sight.Page) []Finding {
	if page.Score.Feel == leadsheet.Swing {
		return nil
	}
	ps := page.Left()
	var out []Finding
	for i := 0; i+3 < len(ps); i++ {
		a := ps[i]
		if a.Bar < 0 || a.Compound || a.Off != 0 || i+4 < len(ps) && ps[i+4].Bar == a.Bar {
			continue
		}
		bar := page.Score.Bars[a.Bar].Dur
		if bar != 2*a.Pulse && bar != 4*a.Pulse {
			continue
		}
		is := true
		for k, eighths := range []theory.Dur{0, 3, 4, 6} {
			p := ps[i+k]
			is = is && p.Bar == a.Bar && 8*p.Off == eighths*bar && (k == 0 || p.From != a.From || p.Low() > a.Low())
		}
		if is {
			out = append(out, finding("", ps[i:i+4]...))
			i += 3
		}
	}
	return out
}
