package pack

import (
	"cmp"
	"fmt"

	"gradatim/internal/teach"
	"gradatim/theory"
)

// homework is the sheet of a level: what to practise each day of some weeks, with boxes to
// tick, on the screen or on paper, and room to write.
func (s *site) homework(e, i int, l teach.LevelLesson, p Page, _ []byte) (part, error) {
	if len(l.Plan.Phrases) == 0 {
		return part{}, nil
	}
	v := s.levelFrame(e, i, l, homeworkPage)
	v.Ticks, v.Days = true, s.words.Lines("site.homework.days")
	player, err := s.player(p.Score, l.Tempo.Beat, nil, names{})
	if err != nil {
		return part{}, err
	}
	v.Weeks = s.course(e, l, player.Bars)
	for k := range v.Weeks {
		for m := range v.Weeks[k].Steps {
			t := &v.Weeks[k].Steps[m]
			t.Tempo = shortTempo(tempoAt(l, t.Percent))
		}
	}
	return s.levelPart(e, v, nil)
}

// firstOf is the first week of a plan; the zero week where there is none.
func firstOf(weeks []week) week {
	if len(weeks) == 0 {
		return week{}
	}
	return weeks[0]
}

// Rows are the steps of a week, those that take the same bars at the same tempo by one hand
// after the other in one row.
func (w week) Rows() [][]tonightStep {
	var out [][]tonightStep
	for k, t := range w.Steps {
		if k > 0 && w.Steps[k-1].From == t.From && w.Steps[k-1].To == t.To && w.Steps[k-1].Percent == t.Percent {
			out[len(out)-1] = append(out[len(out)-1], t)
			continue
		}
		out = append(out, []tonightStep{t})
	}
	return out
}

// shortTempo writes a tempo with the sign of its note value, where there is one: "♩ = 53".
func shortTempo(t teach.Tempo) string {
	if t.PerMinute == 0 {
		return ""
	}
	return fmt.Sprintf("%s = %d", cmp.Or(noteSigns[t.Value], t.Beat), t.PerMinute)
}

// noteSigns are the note values that letters of a browser have a sign for (Unicode, block
// "Miscellaneous Symbols", U+2669 and U+266A).
var noteSigns = map[theory.Dur]string{theory.Quarter: "♩", theory.Quarter * 3 / 2: "♩.", theory.Eighth: "♪", theory.Eighth * 3 / 2: "♪."}

// tempoAt is a share of the page's tempo as its plan has it; the zero Tempo where the plan
// has no such step.
func tempoAt(l teach.LevelLesson, percent int) teach.Tempo {
	for _, o := range l.Plan.Order {
		if o.Step.Percent == percent {
			return o.Step.Tempo
		}
	}
	return teach.Tempo{}
}
