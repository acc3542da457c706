package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// chordFill answers the tune in a gap with chord tones.
var chordFill = &Technique{
	ID: "chord-fill", Stage: Ornament,
	Needs: []string{"guide-tones"},
	Adorn: func(s Spot) []Figure {
		if s.Until-s.From < beatOf(s)*3/2 || s.Next.Event < 0 || len(s.Under) == 0 {
			return nil
		}
		unit := theory.Eighth
		from := gapStart(s, 2)
		n := int((s.Until - from) / unit)
		if n < 2 {
			return nil
		}
		n = min(n, 6)
		from = s.Until - theory.Dur(n)*unit
		line := fillLine(s, from, unit, n)
		if line == nil {
			return nil
		}
		return []Figure{{Say: reason.Answers{Goal: s.Next.Pitch.Name}, Frees: from, Tones: line}}
	},
	Recognise: recogniseChordFill,
	Drill:     QuickLines,
}

// recogniseChordFill finds lines of two and more notes in eighths (or their like)
// beside the tune.
func recogniseChordFill(page *sight.Page) []Finding {
	var out []Finding
	for _, line := range page.Answers(2) {
		if quick(line) {
			continue
		}
		if len(line) == 2 {
			if goal, ok := page.Top(line[1].End); ok && encloses(line[0].Low(), line[1].Low(), goal) {
				continue
			}
		}
		out = append(out, finding("", line...))
	}
	return out
}
