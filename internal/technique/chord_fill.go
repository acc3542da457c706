package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// chordFill answers the tune in a gap with chord tones.
var chordFill = &Technique{
	ID: "chord-fill", Name: "Fill from the chord", Stage: Ornament,
	What:  "Where the tune rests or holds a long note, which is then let go, two to six chord tones answer it and lead towards its next note.",
	Needs: []string{"guide-tones"},
	Adorn: func(s Spot) []Figure {
		if s.Until-s.From < beatOf(s)*3/2 || s.Next.Event < 0 || len(s.Under) == 0 {
			return nil
		}
		unit := theory.Eighth
		from := gapStart(s, unit)
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
		return []Figure{{Say: reason.Answers{Goal: s.Next.Pitch.Name}, CutTune: from, Tones: line}}
	},
	Recognise: recogniseChordFill,
	Teach: Teaching{
		How:      "Softer than the tune; the last note is a step or a third from what follows.",
		Practise: []string{"The fill alone, then from the note before to the note after."},
		Listen:   "A question from the tune, an answer below it.",
		Mistakes: []string{"louder than the tune"},
	},
	Drill: QuickLines,
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
