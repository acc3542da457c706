package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// repeatedChords are a bass note and the chord above it struck again and again: the
// accompaniment of songs that press on.
var repeatedChords = &Technique{
	ID: "repeated-chords", Stage: LeftHand,
	Needs: []string{"bass-and-chord"},
	Left: func(c Cell) []Figure {
		return lone(figures(c, repeatedForms, reason.Figure("repeated-chords"), func(c Cell) []Voicing { return Triads(c, 48, c.High) }))
	},
	Recognise: recogniseRepeated,
	Also:      []string{"bass-and-chord", "comping", "two-voices", "root-then-guides", "open-fifths", "stride", "bass-line"},
	Drill:     OnOneChord,
}

var repeatedForms = forms(
	pattern{Beats: 4, Steps: "R c c c 5_ c c c", MaxTempo: 104},
	pattern{Beats: 4, Steps: "R c c c R c c c", MaxTempo: 104, Cost: 2},
	pattern{Beats: 4, Steps: "R c c c", MinTempo: 105},
	pattern{Beats: 3, Steps: "R c c c c c", MaxTempo: 112},
	pattern{Beats: 3, Steps: "R c c", MinTempo: 113},
	pattern{Beats: 2, Steps: "R c c c", MaxTempo: 104},
	pattern{Beats: 2, Steps: "R c", MinTempo: 105},
	pattern{Beats: 1, Steps: "R c", MaxTempo: 104},
	pattern{Beats: 1, Steps: "R", MinTempo: 105},
	pattern{Beats: 2, Compound: true, Steps: "R c c 5_ c c"},
	pattern{Beats: 2, Compound: true, Steps: "R c c R c c", Cost: 2},
	pattern{Beats: 1, Compound: true, Steps: "R c c"},
)

// recogniseRepeated finds a low note and after it one chord that is struck twice and more.
func recogniseRepeated(page *sight.Page) []Finding {
	ps := page.Left()
	same := func(a, b sight.Play) bool {
		if len(a.Notes) != len(b.Notes) || len(a.Notes) < 2 {
			return false
		}
		for i := range a.Notes {
			if a.Notes[i].Pitch != b.Notes[i].Pitch {
				return false
			}
		}
		return true
	}
	var out []Finding
	for i := 0; i+2 < len(ps); {
		j := i + 2
		for j < len(ps) && same(ps[i+1], ps[j]) && ps[j].Bar == ps[i].Bar {
			j++
		}
		if ps[i].Lone() && j >= i+3 && ps[i].Low() < ps[i+1].Low() && ps[i+1].Bar == ps[i].Bar {
			out = append(out, finding("", ps[i:j]...))
			i = j
			continue
		}
		i++
	}
	return out
}
