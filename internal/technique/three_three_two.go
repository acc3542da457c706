package technique

import (
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// threeThreeTwo divides eight eighths in unequal groups.
var threeThreeTwo = &Technique{
	ID: "three-three-two", Stage: LeftHand,
	Needs: []string{"anticipation"},
	Left: func(c Cell) []Figure {
		say := reason.Figure("three-three-two")
		switch c.Dur() / c.Pulse() {
		case 3:
			say = "three-three-two.three"
		case 2:
			say = "three-three-two.half"
		case 1:
			return nil // a single note is no rhythm
		}
		out := figures(c, threeThreeTwoForms, say, nil)
		for i := range out {
			out[i].Pedal = true
		}
		return out
	},
	Recognise: recogniseThreeThreeTwo,
	Drill:     OnOneChord,
}

var threeThreeTwoForms = forms(
	pattern{Beats: 4, Steps: "R - - 5 - - x -", MaxTempo: 140},
	pattern{Beats: 3, Steps: "R - - 5 - -", MaxTempo: 140},
	pattern{Beats: 2, Steps: "R - - 5", MaxTempo: 140},
	pattern{Beats: 2, Steps: "R - - 3", MaxTempo: 140, Cost: 1},
)

// recogniseThreeThreeTwo finds single left-hand notes on the first, fourth and
// seventh of eight straight eighths, or the first two of them in a half bar.
func recogniseThreeThreeTwo(page *sight.Page) []Finding {
	if page.Score.Feel == leadsheet.Swing {
		return nil
	}
	ps := page.Left()
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if a.Compound || !a.Lone() || !b.Lone() || a.Bar != b.Bar || b.At-a.At != 3*theory.Eighth || a.Off%(2*a.Pulse) != 0 || a.Low() == b.Low() {
			continue
		}
		third := b.Next - b.At
		if third == 3*theory.Eighth && i+2 < len(ps) && ps[i+2].Lone() && ps[i+2].Bar == a.Bar {
			out = append(out, finding("3+3+2", a, b, ps[i+2]))
			i += 2
			continue
		}
		if third == theory.Eighth && i+2 < len(ps) && ps[i+2].Low() == b.Low() && ps[i+2].Bar == a.Bar {
			continue // the bass of a bossa
		}
		if b.Dur() == theory.Eighth || b.Dur() == 3*theory.Eighth {
			out = append(out, finding("3+1", a, b))
			i++
		}
	}
	return out
}
