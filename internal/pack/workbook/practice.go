package workbook

import (
	"fmt"
	"strings"

	"gradatim/internal/engrave/vector"
	"gradatim/internal/teach"
	"gradatim/internal/words"
)

// drills writes the exercises.
func (b *book) drills(l teach.LevelLesson) {
	if len(l.Drills) == 0 {
		return
	}
	b.heading(1, b.say("drills"))
	if b.beside() {
		var items []func(x, width float64) []piece
		for _, d := range l.Drills {
			items = append(items, func(x, width float64) []piece { return b.drill(d, x, width) })
		}
		b.spread(items)
		return
	}
	for _, d := range l.Drills {
		for _, p := range b.drill(d, 0, b.full()) {
			b.add(p)
		}
		b.settle()
	}
}

// drill sets an exercise in a column.
func (b *book) drill(d teach.Drill, x, width float64) []piece {
	out := b.headingLines(2, d.Name, x, width)
	say := func(text string) {
		for _, p := range b.lines(para{x: x, width: min(width, b.measure*b.body), keep: true}, seg{text: text, face: b.plain}) {
			p.keep = true
			out = append(out, p)
		}
	}
	say(words.Upper(d.Hands) + ". " + d.Words)
	more := ""
	if d.Count != "" {
		more = b.say("count", "Count", d.Count) + " "
	}
	if s := steps(d.Steps); s != "" {
		more += b.say("tempo", "Tempi", s)
	}
	if more != "" {
		say(more)
	}
	out[len(out)-1].loose = true
	s := b.press.strip(b.ctx, d.Music, width)
	if s.err != nil {
		b.lost(s.err, d.Name)
		return out
	}
	p := b.figures(b.style.paragraph+1, false, picture{d: s.d, x: x, alt: d.Name + ". " + s.d.Description})
	return append(out, p)
}

// practice writes the plan.
func (b *book) practice(l teach.LevelLesson) {
	p := l.Plan
	if len(p.Order) == 0 && len(p.Phrases) == 0 {
		return
	}
	b.heading(1, b.say("practice"))
	if len(p.First) > 0 {
		b.heading(2, b.say("hardest"))
		var items []item
		for i, h := range p.First {
			items = append(items, item{number(i), []seg{{text: words.Upper(b.span(h.From, h.To)) + ". ", face: b.bold}, {text: h.Why, face: b.plain}}})
		}
		b.list(items...)
	}
	if len(p.Phrases) > 0 {
		b.heading(2, b.say("phrases"))
		b.paragraph(para{keep: true}, seg{text: b.say("in-order"), face: b.plain})
		order := make([]teach.Phrase, len(p.Phrases))
		for _, ph := range p.Phrases {
			if ph.Rank >= 1 && ph.Rank <= len(order) {
				order[ph.Rank-1] = ph
			}
		}
		var items []item
		for i, ph := range order {
			if ph.Name != "" {
				items = append(items, item{number(i), b.phrase(ph)})
			}
		}
		b.list(items...)
	}
	order, rules := list{head: b.say("steps"), numbered: true}, list{head: b.say("rules")}
	for _, s := range p.Order {
		order.items = append(order.items, []seg{{text: s.Name + ", " + tempo(s.Step.Tempo) + ". ", face: b.bold}, {text: s.Text, face: b.plain}})
	}
	for _, r := range p.Rules {
		rules.items = append(rules.items, []seg{{text: r, face: b.plain}})
	}
	for _, l := range []list{order, rules} { // one under the other, where a page may end between them
		for _, p := range b.listLines(2, l, 0, b.full()) {
			b.add(p)
		}
	}
}

// number labels a point of a numbered list, counted from 0.
func number(i int) string { return fmt.Sprintf("%d.", i+1) }

func (b *book) span(from, to int) string { return b.words.Value(words.Span(from, to)) }

// phrase writes one portion of practice.
func (b *book) phrase(ph teach.Phrase) []seg {
	out := []seg{{text: ph.Name + ", " + b.span(ph.From, ph.To) + ". ", face: b.bold}}
	var say []string
	if ph.As != "" {
		say = append(say, b.say("same-as", "Phrase", ph.As))
	}
	if ph.Left != "" {
		say = append(say, b.say("hands", "Left", ph.Left, "Right", ph.Right))
	}
	if ph.Cadence != "" {
		say = append(say, words.Upper(ph.Cadence)+".")
	}
	if len(ph.Join) == 2 {
		say = append(say, b.say("join", "From", words.Bars{ph.Join[0]}, "To", words.Bars{ph.Join[1]}))
	}
	return append(out, seg{text: strings.Join(say, " "), face: b.plain})
}

// lists writes the cautions of a level.
func (b *book) lists(l teach.LevelLesson) {
	care := list{head: b.say("care")}
	for _, c := range l.Cautions {
		care.items = append(care.items, b.lead(words.Upper(c.About), c.Text))
	}
	for _, p := range b.listLines(1, care, 0, b.full()) {
		b.add(p)
	}
}

// list is a list under a heading.
type list struct {
	head     string
	items    [][]seg
	numbered bool
}

// sideBySide sets two lists in columns where there is room for them.
func (b *book) sideBySide(level int, one, other list) {
	if b.columns > 1 && len(one.items) > 0 && len(other.items) > 0 {
		left, right := b.listLines(level, one, 0, b.half()), b.listLines(level, other, b.half()+b.between, b.half())
		if both := beside(9, false, left, right); both.height <= b.depth() {
			b.add(both)
			return
		}
	}
	for _, l := range []list{one, other} {
		for _, p := range b.listLines(level, l, 0, b.full()) {
			b.add(p)
		}
	}
}

func (b *book) listLines(level int, l list, x, width float64) []piece {
	if len(l.items) == 0 {
		return nil
	}
	out := b.headingLines(level, l.head, x, width)
	whole := &vector.Tag{Role: "L"}
	for i, it := range l.items {
		label := ""
		if l.numbered {
			label = number(i)
		}
		p := b.listed(label)
		p.of(whole)
		p.x, p.width = x, width
		p.keep = len(l.items) > 1 && (i == 0 || i == len(l.items)-2)
		out = append(out, b.lines(p, it...)...)
	}
	return out
}

// cautions writes cautions as a list.
func (b *book) cautions(cs []teach.Caution) {
	var items []item
	for _, c := range cs {
		items = append(items, item{text: b.lead(words.Upper(c.About), c.Text)})
	}
	b.list(items...)
}
