package pack

import (
	"cmp"
	"context"
	"fmt"
	"html/template"
	"math"
	"path"
	"slices"
	"strings"

	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/score"
)

// teacherView is the page of whoever teaches, all levels of a key on it. No page for
// pupils leads to it, and none has what it says.
type teacherView struct {
	frame
	Taught []teacherLevel
}

// teacherLevel is one level of it.
type teacherLevel struct {
	ID, Label, Title, Tempo string
	Page                    string        // of the pupil
	Own                     template.HTML // her notes
	Sections                []teacherSection
	Listen, Mistakes        []teach.Point
	Drills                  []drillNote
	Numerals                bool // the chords of its talk are told as degrees beside it
}

// teacherSection is what is shown and said in a section. A page without sections, or
// what stands before the first, has one without a name.
type teacherSection struct {
	letter string
	part   score.Part

	Name string // "Section A"
	Own  template.HTML
	Talk []talkView
}

// talkView is a row: what is shown and said; what goes wrong with what comes in here, and a
// question with its answer.
type talkView struct {
	Bars, Time, Link, Show, Say, Numerals string
	Wrong                                 []string
	Ask                                   []string
}

// drillNote tells what a drill is for: which techniques it prepares, and where they
// come in the piece.
type drillNote struct {
	Name, Hands string
	For         []string
	Goal        string
}

// pupils is a level without what is for the teacher alone: talking notes, what to listen
// for, common mistakes.
func pupils(l teach.LevelLesson) teach.LevelLesson {
	l.Talk, l.Listen, l.Mistakes = nil, nil, nil
	return l
}

// teacherPage names the page of an edition.
func teacherPage(in Input, edition int) string {
	if edition == 0 {
		return "teacher.html"
	}
	return "teacher-in-" + slug(in.Editions[edition].Key.Pretty()) + ".html"
}

// ForTeacher tells whether a file of a pack is for whoever teaches alone.
func ForTeacher(file string) bool {
	return strings.HasPrefix(file, "teacher") && path.Ext(file) == ".html"
}

func (s *site) teacher(e int) (part, error) {
	ed := s.in.Editions[e]
	v := teacherView{frame: s.frame("teacher", s.say("level.talk"), e, 0)}
	v.Apart = true
	for i, p := range ed.Pages {
		l, err := s.teacherLevel(e, ed.Lesson.Levels[i], p)
		if err != nil {
			return part{}, err
		}
		v.Taught = append(v.Taught, l)
	}
	in, err := s.inputs(v)
	if err != nil {
		return part{}, err
	}
	name, file := "teacher's page", teacherPage(s.in, e)
	if len(s.in.Editions) > 1 {
		name += " in " + ed.Key.Pretty()
	}
	return part{name: name, files: []string{file}, inputs: in, make: func(context.Context, *workshop, func(float64)) ([]made, error) {
		b, err := s.render("teacher", v)
		return []made{{file, b}}, err
	}}, nil
}

func (s *site) teacherLevel(e int, l teach.LevelLesson, p Page) (teacherLevel, error) {
	own := s.in.Own.Imprint
	out := teacherLevel{ID: fmt.Sprintf("level-%d", l.Number), Label: s.label(l), Title: l.Title, Tempo: s.tempo(l.Tempo),
		Page: namesOf(s.in, e, l.Number).page(), Listen: l.Listen, Mistakes: l.Mistakes}
	var err error
	if out.Own, err = text(own.Level(l.Number).Teacher); err != nil {
		return out, err
	}
	player, err := s.player(p.Score, l.Tempo.Beat, nil, names{})
	if err != nil {
		return out, err
	}
	if out.Sections, err = s.teacherSections(p.Score, player, l, out.Page); err != nil {
		return out, err
	}
	out.Numerals = slices.ContainsFunc(l.Talk, func(t teach.Talk) bool { return t.Numerals != "" })
	for _, d := range l.Drills {
		x := drillNote{Name: d.Name, Hands: words.Upper(d.Hands)}
		for _, id := range d.For {
			name := words.Upper(s.words.Technique(id).Name)
			if bars := barsOf(l, id); len(bars) > 0 {
				name = s.say("teacher.comes-in", "Name", name, "Bars", words.Bars(bars))
			}
			x.For = append(x.For, name)
		}
		if n := len(d.Steps); n > 0 {
			x.Goal = s.tempo(d.Steps[n-1].Tempo)
		}
		out.Drills = append(out.Drills, x)
	}
	return out, nil
}

// barsOf tells where a level uses a technique.
func barsOf(l teach.LevelLesson, id string) []int {
	for _, n := range l.New {
		if n.Technique == id {
			return n.Bars
		}
	}
	for _, k := range l.Given {
		if k.Technique == id {
			return k.Bars
		}
	}
	for _, a := range l.Also {
		if a.Technique == id {
			return a.Bars
		}
	}
	return nil
}

// teacherSections puts the talk, a row for a bar or for several in the order of playing,
// under the sections in which its bars begin. Her words stand where a section comes first.
// Times lead to the player's page, which takes up those bars.
func (s *site) teacherSections(page score.Score, player playerData, l teach.LevelLesson, file string) ([]teacherSection, error) {
	page, _ = page.Played()
	if len(page.Bars) == 0 {
		return nil, nil
	}
	var out []teacherSection
	var told []string
	k, last := 0, len(page.Bars)-1
	number := func(b int) int { return page.Bars[b].Part.Place(page.Bars[b].Number) }
	for _, t := range l.Talk {
		for k < last && number(k) != t.From {
			k++
		}
		begins := k
		for k < last && number(k) != t.To {
			k++
		}
		part, name := page.Bars[begins].Part, sectionAt(page.Bars[:begins+1])
		if len(out) == 0 || out[len(out)-1].letter != name || out[len(out)-1].part != part {
			sec := teacherSection{letter: name, part: part}
			switch {
			case part != score.Tune:
				sec.Name = s.words.Say("part." + part.String())
			case name != "":
				sec.Name = s.say("own.section", "Name", name)
				if !slices.Contains(told, name) {
					told = append(told, name)
					var err error
					if sec.Own, err = text(s.in.Own.Imprint.Notes[name]); err != nil {
						return nil, err
					}
				}
			}
			out = append(out, sec)
		}
		sec := &out[len(out)-1]
		v := talkView{Bars: words.Upper(s.words.Value(words.Span(t.From, t.To))), Time: player.clock(int(page.Bars[begins].At)),
			Link: fmt.Sprintf("%s#bars=%d-%d", file, begins, k), Show: t.Show, Say: t.Say, Numerals: t.Numerals}
		v.Wrong, v.Ask = s.pitfalls(l, t)
		sec.Talk = append(sec.Talk, v)
		k = min(k+1, last)
	}
	return out, nil
}

// pitfalls lists what goes wrong with the techniques that are shown first in a row, and asks
// where else they are: the answer stands with the question.
func (s *site) pitfalls(l teach.LevelLesson, t teach.Talk) (wrong, ask []string) {
	for _, n := range l.New {
		if at := n.Example.Bars; len(at) == 0 || at[0] != t.From {
			continue
		}
		for _, m := range l.Mistakes {
			if slices.Contains(m.For, n.Technique) && !slices.Contains(wrong, m.Text) {
				wrong = append(wrong, m.Text)
			}
		}
		if len(n.Elsewhere) > 0 {
			ask = append(ask, s.say("teacher.ask", "Name", s.words.Technique(n.Technique).Name, "Bars", words.Bars(n.Elsewhere)))
		}
	}
	return wrong, ask
}

// sectionAt names the section that the last of some bars is in; "" before the first of its
// part.
func sectionAt(bars []score.Bar) string {
	part := bars[len(bars)-1].Part
	for _, b := range slices.Backward(bars) {
		if b.Part != part {
			break
		}
		if b.Section != "" {
			return b.Section
		}
	}
	return ""
}

// clock is a position as the player shows it: minutes and seconds from the first bar, at
// full tempo.
func (p playerData) clock(at int) string {
	full := p.Timings[p.Takes[slices.IndexFunc(p.Takes, func(t takeData) bool { return t.Percent == 100 })].Timing]
	n := int(math.Floor(full.seconds(float64(at)) - full.seconds(float64(p.Bars[0].At)) + 1e-6))
	return fmt.Sprintf("%d:%02d", n/60, n%60)
}

// seconds is when a position sounds, as the script has it.
func (t timingData) seconds(at float64) float64 {
	i, exact := slices.BinarySearchFunc(t.Points, at, func(p [2]float64, at float64) int { return cmp.Compare(p[0], at) })
	if !exact {
		i--
	}
	i = max(0, min(i, len(t.Points)-2))
	a, b := t.Points[i], t.Points[i+1]
	return a[1] + (b[1]-a[1])*(at-a[0])/(b[0]-a[0])
}
