package teach_test

import (
	"fmt"
	"strings"

	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/score"
)

// textOf writes a lesson as lines that a person can read and a diff can show.
func textOf(l teach.Lesson) string {
	t := &textWriter{}
	t.line("# %s", l.Title)
	t.line("%s, %s, %s", l.Key, l.Meter, fmt.Sprintf("%d bars", l.Bars))
	for _, v := range l.Levels {
		t.level(v)
	}
	t.head("Cautions for every level")
	t.cautions(l.Cautions)
	t.head("Signs")
	for _, g := range l.Signs {
		t.line("%s: %s", g.Sign, g.Meaning)
	}
	t.head("Glossary")
	for _, g := range l.Glossary {
		t.line("%s: %s", g.Term, g.Definition)
	}
	return t.b.String()
}

type textWriter struct{ b strings.Builder }

func (t *textWriter) line(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	t.b.WriteString(strings.TrimRight(s, " \n"))
	t.b.WriteByte('\n')
}

func (t *textWriter) head(s string) { t.line("\n## %s", s) }
func (t *textWriter) sub(s string)  { t.line("\n### %s", s) }

func (t *textWriter) level(v teach.LevelLesson) {
	t.head(fmt.Sprintf("Level %d, %s: %s", v.Number, v.Name, v.Title))
	t.line("%s = %d, %s", v.Tempo.Beat, v.Tempo.PerMinute, v.Feel)
	t.sub("Bring with you")
	for _, it := range v.Bring {
		t.line("- %s. %s", it.Name, it.Text)
	}
	if len(v.Given) > 0 {
		t.sub("From the levels below")
		for _, k := range v.Given {
			t.line("- %s (level %d), %s", k.Name, k.From, english.Value(words.Bars(k.Bars)))
		}
	}
	if len(v.New) > 0 {
		t.sub("New here")
	}
	for _, n := range v.New {
		t.line("\n%s (%s), %s", n.Name, n.Stage, english.Value(words.Bars(n.Bars)))
		t.line("  What: %s", n.What)
		t.line("  How: %s", n.How)
		for i, s := range n.Practise {
			t.line("  %d. %s", i+1, s)
		}
		t.line("  Why here, %s: %s", english.Value(words.Bars(n.Example.Bars)), n.Example.Why)
		t.music(n.Example.Before)
		t.music(n.Example.After)
	}
	if len(v.Also) > 0 {
		t.sub("Also here")
	}
	for _, a := range v.Also {
		t.line("- %s, %s. %s %s", a.Name, english.Value(words.Bars(a.Bars)), a.What, a.How)
	}
	t.sub("Chords")
	for _, c := range v.Chords {
		var tones, keys []string
		for _, d := range c.Tones {
			tones = append(tones, fmt.Sprintf("%s %s (%s)", d.Degree, d.Note, d.Name))
		}
		for _, k := range c.Keys {
			keys = append(keys, fmt.Sprint(k.MIDI))
		}
		t.line("- %s: %s [%s]", c.Symbol, strings.Join(tones, ", "), strings.Join(keys, " "))
		if len(c.Hands) > 0 {
			var hands []string
			for _, k := range c.Hands {
				hands = append(hands, fmt.Sprintf("%s %s (%d)", k.Hand[:1], k.Note, k.MIDI))
			}
			t.line("    played: %s", strings.Join(hands, ", "))
		}
		for _, u := range c.Uses {
			t.line("    %s, %s, %s: %s", u.Roman, u.Function, english.Value(words.Bars(u.Bars)), u.Why)
		}
	}
	t.sub("Drills")
	for _, d := range v.Drills {
		t.line("\n%s (%s) %s", d.Name, d.Hands, strings.Join(d.For, " "))
		t.line("  %s", d.Words)
		t.line("  Count: %s", d.Count)
		t.line("  Steps: %s", stepsText(d.Steps))
		t.music(d.Music)
	}
	t.sub("Practice plan")
	for _, h := range v.Plan.First {
		t.line("First %s: %s", english.Value(words.Span(h.From, h.To)), h.Why)
	}
	for i, s := range v.Plan.Order {
		t.line("%d. %s (%s): %s", i+1, s.Name, stepsText([]teach.Step{s.Step}), s.Text)
	}
	for _, ph := range v.Plan.Phrases {
		text := fmt.Sprintf("left hand: %s; right hand: %s", ph.Left, ph.Right)
		if ph.As != "" {
			text = "as " + strings.ToLower(ph.As[:1]) + ph.As[1:]
		}
		if ph.Cadence != "" {
			text += "; " + ph.Cadence
		}
		if ph.Join != nil {
			text += "; join " + english.Value(words.Bars(ph.Join[:1])) + " to " + english.Value(words.Bars(ph.Join[1:]))
		}
		t.line("- %s, %s (number %d): %s", ph.Name, english.Value(words.Span(ph.From, ph.To)), ph.Rank, text)
	}
	for _, r := range v.Plan.Rules {
		t.line("Rule: %s", r)
	}
	t.points("Common mistakes", v.Mistakes)
	t.points("Listen for", v.Listen)
	if len(v.Cautions) > 0 {
		t.sub("Take care")
		t.cautions(v.Cautions)
	}
	t.sub("Changed from " + v.Below)
	for _, c := range v.Changes {
		var parts []string
		for _, s := range []struct{ name, text string }{{"chords", c.Chords}, {"left hand", c.Left}, {"right hand", c.Right}, {"rhythm", c.Rhythm}} {
			if s.text != "" {
				parts = append(parts, s.name+": "+s.text)
			}
		}
		t.line("- %s. %s", words.Upper(english.Value(words.Bars(c.Bars))), strings.Join(parts, " | "))
	}
	t.sub("Talking notes")
	for _, k := range v.Talk {
		t.line("%s %s. %s / %s", clock(k.Start), english.Value(words.Span(k.From, k.To)), k.Show, k.Say)
	}
}

func (t *textWriter) points(head string, ps []teach.Point) {
	if len(ps) == 0 {
		return
	}
	t.sub(head)
	for _, p := range ps {
		t.line("- %s: %s", p.About, p.Text)
	}
}

func (t *textWriter) cautions(cs []teach.Caution) {
	for _, c := range cs {
		t.line("- %s: %s", c.About, c.Text)
	}
}

func (t *textWriter) music(m teach.Music) {
	t.line("  | %s", m.Caption)
	lines := strings.Split(strings.TrimSpace(score.Text(m.Score)), "\n")
	for _, l := range lines[2:] {
		t.line("  |   %s", l)
	}
}

func stepsText(ss []teach.Step) string {
	var out []string
	for _, s := range ss {
		out = append(out, fmt.Sprintf("%d%% %s = %d", s.Percent, s.Tempo.Beat, s.Tempo.PerMinute))
	}
	return strings.Join(out, ", ")
}

// clock writes milliseconds as minutes and seconds.
func clock(ms int) string { return fmt.Sprintf("%d:%02d", ms/60000, ms/1000%60) }
