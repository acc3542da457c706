package technique

import (
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// bossa is the straight-eighth bass of root and fifth with the chord against it.
var bossa = &Technique{
	ID: "bossa", Stage: LeftHand,
	Needs: []string{"shells"},
	Left: func(c Cell) []Figure {
		if c.Swing {
			return nil
		}
		return figures(c, bossaForms, reason.Figure("bossa"), nil)
	},
	Recognise: recogniseBossa,
	Drill:     OnOneChord,
}

var bossaForms = forms(
	pattern{Beats: 4, Steps: "R - - 5 5 - - R", MaxTempo: 160},
	pattern{Beats: 2, Steps: "R - - 5", MaxTempo: 160},
	pattern{Beats: 1, Steps: "R", MaxTempo: 160},
)

// recogniseBossa finds root, fifth, fifth, root on the first, fourth, fifth and
// eighth of eight straight eighths (or its first half).
func recogniseBossa(page *sight.Page) []Finding {
	if page.Score.Feel == leadsheet.Swing {
		return nil
	}
	ps := page.Left()
	var out []Finding
	for i := 0; i+2 < len(ps); i++ {
		a, b, c := ps[i], ps[i+1], ps[i+2]
		if a.Compound || !a.Lone() || !b.Lone() || !c.Lone() || a.Off != 0 || a.Bar != c.Bar || a.From != c.From {
			continue
		}
		if b.At-a.At == 3*theory.Eighth && c.At-b.At == theory.Eighth && b.Low() == c.Low() && a.Low() != b.Low() {
			if i+3 < len(ps) && ps[i+3].Lone() && ps[i+3].Bar == a.Bar {
				out = append(out, finding("", a, b, c, ps[i+3]))
				i += 3
				continue
			}
			out = append(out, finding("", a, b, c))
			i += 2
		}
	}
	return out
}
