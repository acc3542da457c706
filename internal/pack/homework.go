package pack

import (
	"cmp"
	"context"
	"fmt"

	"gradatim/internal/teach"
	"gradatim/theory"
)

// homeworkView is a sheet to print for each level of a key: what to practise each day of a
// week, with room to tick it and to write.
type homeworkView struct {
	frame
	Sheets []homework
	Days   []string
}

// homework is the sheet of one level.
type homework struct {
	Label string
	Page  string
	Weeks []homeworkWeek
}

// homeworkWeek is what is done on each day of a week, from which one to the next differs.
type homeworkWeek struct {
	Number, Minutes int
	Drill           *homeworkStep // to begin with; nil: none
	Steps           []homeworkStep
}

// drillMinutes is how long a drill is played before the piece is (common practice, no source).
const drillMinutes = 2

type homeworkStep struct {
	Play                    string // where the player is set up for it
	Bars, Hands, Tempo, Why string
	Minutes                 int
}

// homeworkPage names the sheets of an edition.
func homeworkPage(in Input, edition int) string {
	if edition == 0 {
		return "homework.html"
	}
	return "homework-in-" + slug(in.Editions[edition].Key.Pretty()) + ".html"
}

func (s *site) homework(e int) (part, error) {
	ed := s.in.Editions[e]
	v := homeworkView{frame: s.frame("homework", s.say("homework.head"), e, 0), Days: s.words.Lines("site.homework.days")}
	for i, p := range ed.Pages {
		l := ed.Lesson.Levels[i]
		player, err := s.player(p.Score, l.Tempo.Beat, nil, names{})
		if err != nil {
			return part{}, err
		}
		names := namesOf(s.in, e, l.Number)
		h := homework{Label: s.label(l), Page: names.page()}
		for n, steps := range s.weeks(l, player.Bars) {
			w := homeworkWeek{Number: n + 1}
			if n < len(l.Drills) && len(l.Drills[n].Steps) > 0 {
				d := l.Drills[n]
				w.Drill = &homeworkStep{names.pageOf(drillsPage) + fmt.Sprintf("#drill%d", n+1), s.say("homework.drill", "Name", d.Name), d.Hands, shortTempo(d.Steps[0].Tempo), "", drillMinutes}
				w.Minutes += drillMinutes
			}
			for k, t := range steps {
				w.Minutes += t.Minutes
				if k > 0 && steps[k-1].From == t.From && steps[k-1].To == t.To && steps[k-1].Percent == t.Percent { // first hand by hand
					last := &w.Steps[len(w.Steps)-1]
					last.Hands, last.Minutes, last.Why = last.Hands+" → "+t.Who, last.Minutes+t.Minutes, t.Why
					continue
				}
				w.Steps = append(w.Steps, homeworkStep{h.Page + t.hash(), t.Span, t.Who, shortTempo(tempoAt(l, t.Percent)), t.Why, t.Minutes})
			}
			if len(steps) > 0 {
				h.Weeks = append(h.Weeks, w)
			}
		}
		v.Sheets = append(v.Sheets, h)
	}
	in, err := s.inputs(v)
	if err != nil {
		return part{}, err
	}
	name, file := "homework", homeworkPage(s.in, e)
	if len(s.in.Editions) > 1 {
		name += " in " + ed.Key.Pretty()
	}
	return part{name: name, files: []string{file}, inputs: in, make: func(context.Context, *workshop, func(float64)) ([]made, error) {
		b, err := s.render("homework", v)
		return []made{{file, b}}, err
	}}, nil
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
