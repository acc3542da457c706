package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
)

// clusters are right-hand colour chords with a second in them, under the tune.
var clusters = &Technique{
	ID: "clusters", Stage: RightHand,
	Needs: []string{"guide-tones", "extensions"},
	Right: func(c Cell) []Figure {
		var out []Figure
		tones := c.Chord.Tones.List()
		// Every three tones of the chord, as close as they go under the tune.
		for i := range tones {
			for j := i + 1; j < len(tones); j++ {
				for k := j + 1; k < len(tones); k++ {
					for n, m := range anchors(c) {
						f, ok := under(c, m, tones[i], tones[j], tones[k])
						if !ok {
							continue
						}
						kind, cost := shape(f, m)
						if kind == "" {
							continue
						}
						if tones[i].Number == 1 {
							cost += 2 // the bass has the root
						}
						f.Cost, f.Say = cost+n, kind
						out = append(out, f)
					}
				}
			}
		}
		return out
	},
	Recognise: recogniseClusters,
	Also:      []string{"full-chords", "guide-tones", "upper-structure"},
	Drill:     FromThePage,
}

// shape names what a right-hand chord of three notes and the tune is: a cluster
// (a second in it, lowest note from E3, no half step under the tune), a chord in
// fourths, or neither.
func shape(f Figure, m MelodyNote) (reason.Figure, int) {
	ps := make([]int, 0, 4)
	for _, t := range f.Tones {
		ps = append(ps, t.Pitch.MIDI())
	}
	top := m.Pitch.MIDI()
	if ps[0] < 55 || top-ps[len(ps)-1] < 2 {
		return "", 0
	}
	ps = append(ps, top)
	seconds, fourths := 0, 0
	for i := 1; i < len(ps); i++ {
		switch d := ps[i] - ps[i-1]; {
		case d <= 2:
			seconds++
			if d == 1 && i == len(ps)-1 {
				return "", 0
			}
		case d == 5 || d == 6:
			fourths++
		}
	}
	switch {
	case seconds > 2:
		return "", 0
	case seconds > 0:
		return "clusters", 0
	case fourths >= 2:
		return "clusters.fourths", 1
	}
	return "", 0
}

func colourTones(c Cell) []degree {
	var out []degree
	for d := range c.Chord.Tones.All() {
		if d.Number >= 9 {
			out = append(out, d)
		}
	}
	return out
}

// recogniseClusters finds right-hand chords of four notes with a second in them
// or built in fourths, and of three with two seconds; with the tune's note, none
// below E3.
func recogniseClusters(page *sight.Page) []Finding {
	var out []Finding
	for _, c := range page.Under() {
		k := c.Keys
		seconds, fourths := 0, 0
		for i := 1; i < len(k); i++ {
			switch d := k[i] - k[i-1]; {
			case d <= 2:
				seconds++
			case d == 5 || d == 6:
				fourths++
			}
		}
		if k[0] >= 52 && (len(k) >= 4 && (seconds > 0 || fourths >= 2) || seconds >= 2) {
			out = append(out, standing(c))
		}
	}
	return out
}
