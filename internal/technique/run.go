package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// run is a quick scale or arpeggio through a gap that lands on the beat on a
// chord tone.
var run = &Technique{
	ID: "run", Stage: Ornament,
	Needs: []string{"chord-fill", "enclosure"}, Leads: true,
	Adorn: func(s Spot) []Figure {
		if s.Until-s.From < 3*beatOf(s)/2 || s.Next.Event < 0 || len(s.Under) == 0 || !s.Goal.HasClass(s.Next.Pitch.Class()) {
			return nil
		}
		unit := theory.Sixteenth
		// nine notes a second is the most that level 5 asks for
		if int64(s.Cell.Tempo)*4 > 9*60 {
			unit = theory.Quarter / 3
			if s.Cell.Meter.Compound() {
				unit = theory.Eighth
			}
		}
		most := min(16, int((s.Until-gapStart(s, 1))/unit))
		var out []Figure
		for _, dir := range []int{-1, 1} {
			for n := most; n >= shortestRun; n-- {
				from := s.Until - theory.Dur(n)*unit
				line, say := runLine(s, from, unit, n, dir)
				if line == nil {
					continue
				}
				lands := reason.Lands{Note: s.Next.Pitch.Name, Chord: s.Goal}
				lands.Degree, _ = s.Goal.Degree(s.Next.Pitch.Name)
				// It should start near the note it leaves and be long.
				leap := abs(line[0].Pitch.MIDI() - s.Note.Pitch.MIDI())
				out = append(out, Figure{Cost: leap + 2*max(0, leap-7) - n, CutTune: from, Clears: true, Tones: line,
					Say: reason.Together(say, lands)})
			}
		}
		return out
	},
	Recognise: recogniseRuns,
	Drill:     QuickLines,
}

// shortestRun is the fewest notes that are heard as a run and not as a turn.
const shortestRun = 5

// recogniseRuns finds quick lines: beside the tune from four notes, in the tune
// itself from six, going by steps, thirds and the like.
func recogniseRuns(page *sight.Page) []Finding {
	var out []Finding
	for _, line := range page.Answers(4) {
		if quick(line) {
			out = append(out, finding("", line...))
		}
	}
	ps := page.Right()
	for i := 0; i < len(ps); {
		j := i
		for j < len(ps) && ps[j].Lone() && !ps[j].Aside() && 3*ps[j].Dur() <= ps[j].Pulse && (j == i || ps[j].At == ps[j-1].End && abs(ps[j].Low()-ps[j-1].Low()) <= 5) {
			j++
		}
		if j-i >= 6 && quick(ps[i:j]) {
			out = append(out, finding("", ps[i:j]...))
		}
		i = max(j, i+1)
	}
	return out
}

// quick tells whether a line goes in more than three notes to a simple beat, or
// in three or more where it is long.
func quick(line []sight.Play) bool {
	step := line[0].Next - line[0].At
	if line[0].Compound {
		return 6*step <= line[0].Pulse && len(line) >= 4
	}
	return 3*step <= line[0].Pulse && len(line) >= 4
}
