package workbook

import (
	"fmt"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
	"gradatim/internal/teach"
)

// level writes the pages of one level.
func (b *book) level(i int) error {
	l := b.in.Lesson.Levels[i]
	b.close()
	b.named = fmt.Sprintf("Level %d", l.Number)
	b.heading(0, levelName(l))
	about := []string{b.in.Lesson.Key, b.in.Lesson.Meter, bars(b.in.Lesson.Bars)}
	if l.Feel != "" && l.Feel != "unstated" {
		about = append(about, l.Feel)
	}
	about = append(about, "goal "+tempo(l.Tempo))
	b.paragraph(para{}, seg{strings.Join(about, " · "), b.plain})

	if len(l.Bring) > 0 {
		b.heading(1, "Bring with you")
		var items []item
		for _, it := range l.Bring {
			items = append(items, item{text: b.lead(it.Name, it.Text)})
		}
		b.list(items...)
	}
	if len(l.Given) > 0 {
		b.heading(1, "From the levels below")
		var items []item
		for _, k := range l.Given {
			items = append(items, item{text: []seg{{k.Name, b.bold}, {fmt.Sprintf(" (level %d), %s.", k.From, teach.Bars(k.Bars)), b.plain}}})
		}
		b.list(items...)
	}
	b.news(l)
	b.chords(l)
	if err := b.music(i, b.in.Rights.Line()); err != nil {
		return err
	}
	b.drills(l)
	b.practice(l)
	b.lists(l)
	return nil
}

func levelName(l teach.LevelLesson) string {
	s := fmt.Sprintf("Level %d, %s", l.Number, l.Name)
	if l.Title != "" {
		s += ": " + l.Title
	}
	return s
}

func bars(n int) string {
	if n == 1 {
		return "1 bar"
	}
	return fmt.Sprintf("%d bars", n)
}

// noteSigns are the note values of tempo marks that have a sign.
var noteSigns = map[string]string{"quarter": "♩", "dotted quarter": "♩.", "eighth": "♪", "dotted eighth": "♪."}

func beat(name string) string {
	if s, ok := noteSigns[name]; ok {
		return s
	}
	return name
}

func tempo(t teach.Tempo) string { return fmt.Sprintf("%s = %d", beat(t.Beat), t.PerMinute) }

// steps writes tempo steps: "♩ = 54, 68, 81, 90".
func steps(ss []teach.Step) string {
	out := ""
	for i, s := range ss {
		switch {
		case i == 0:
			out = tempo(s.Tempo)
		case s.Tempo.Beat == ss[0].Tempo.Beat:
			out += fmt.Sprintf(", %d", s.Tempo.PerMinute)
		default:
			out += ", " + tempo(s.Tempo)
		}
	}
	return out
}

// lead sets a name in bold before its text.
func (b *book) lead(name, text string) []seg {
	return []seg{{strings.TrimRight(name, ".:") + ". ", b.bold}, {text, b.plain}}
}

// news writes the techniques that are new, each with its example.
func (b *book) news(l teach.LevelLesson) {
	if len(l.New) == 0 {
		return
	}
	b.heading(1, "New here")
	for _, n := range l.New {
		if len(n.Example.Notes) > 0 {
			b.paragraph(para{keep: true}, seg{"In the pictures, the notes on grey show what is new.", b.plain})
			break
		}
	}
	for _, n := range l.New {
		b.heading(2, n.Name)
		b.paragraph(para{keep: true}, seg{fmt.Sprintf("%s, %s. ", upper(n.Stage), teach.Bars(n.Bars)), b.lean}, seg{n.What + " " + n.How, b.plain})
		b.example(n)
	}
}

func upper(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// example shows a place of the tune without a technique and with it, why it fits,
// and how to practise it: side by side as far as there is room.
func (b *book) example(n teach.New) {
	e := n.Example
	words := append([][]piece{b.lines(para{gap: b.style.paragraph + 1}, b.because(e)...)}, b.practise(n, para{})...)
	tell := func() {
		for _, ps := range words {
			for _, p := range ps {
				b.add(p)
			}
		}
	}
	if len(e.After.Score.Bars) == 0 {
		for _, ps := range b.practise(n, para{}) {
			for _, p := range ps {
				b.add(p)
			}
		}
		return
	}
	w, side := b.full(), false
	if b.beside() {
		before, after := b.press.strip(b.ctx, e.Before, b.half()), b.press.strip(b.ctx, e.After, b.half())
		if before.err == nil && after.err == nil && before.systems <= 1 && after.systems <= 1 {
			w, side = b.half(), true
		}
	}
	before, after := b.press.strip(b.ctx, e.Before, w), b.press.strip(b.ctx, e.After, w)
	if !side && before.err == nil && after.err == nil { // large print: short as they are
		side = before.inkWidth() <= b.half() && after.inkWidth() <= b.half()
	}
	for _, s := range []strip{before, after} {
		if s.err != nil {
			b.told = append(b.told, lost(s.err, n.Name)...)
			tell()
			return
		}
	}
	p := picture{d: before.d, alt: e.Before.Caption + ". " + before.d.Description}
	q := picture{d: after.d, alt: e.After.Caption + ". " + after.d.Description, under: after.shade(e.Notes)}
	gap := b.style.paragraph + 1
	caption := func(text string, x, width float64) []piece {
		return b.lines(para{x: x, width: width, keep: true}, seg{text, b.lean})
	}
	if side {
		const free, least = 7.0, 40.0
		first, second := max(least, before.inkWidth()), max(least, after.inkWidth())
		x := first + second + 2*free
		if width := b.full() - x; width >= 16*b.body { // words beside the pictures
			q.x = first + free
			right := b.lines(para{x: x, width: width}, b.because(e)...)
			for _, ps := range b.practise(n, para{x: x, width: width}) {
				right = append(right, ps...)
			}
			b.add(beside(gap, false, append(caption(e.Before.Caption, 0, first), b.figures(1.5, true, p)),
				append(caption(e.After.Caption, q.x, second), b.figures(1.5, true, q)), right))
			return
		}
		q.x = b.half() + b.between
		b.add(beside(gap, true, append(caption(e.Before.Caption, 0, b.half()), b.figures(1.5, true, p)),
			append(caption(e.After.Caption, q.x, b.half()), b.figures(1.5, true, q))))
		tell()
		return
	}
	b.paragraph(para{gap: gap, keep: true}, seg{e.Before.Caption, b.lean})
	b.row(1.5, true, p)
	b.paragraph(para{gap: gap, keep: true}, seg{e.After.Caption, b.lean})
	b.row(1.5, true, q)
	tell()
}

func (b *book) because(e teach.Example) []seg {
	if e.Why == "" {
		return nil
	}
	return []seg{{fmt.Sprintf("Why here, %s: ", teach.Bars(e.Bars)), b.bold}, {e.Why, b.plain}}
}

// practise lists the steps towards a technique.
func (b *book) practise(n teach.New, o para) [][]piece {
	var out [][]piece
	whole := &vector.Tag{Role: "L"}
	for i, p := range n.Practise {
		q := b.listed(number(i))
		q.of(whole)
		q.x, q.width = o.x, o.width
		out = append(out, b.lines(q, seg{p, b.plain}))
	}
	return out
}

// beside makes one piece of columns of pieces.
func beside(gap float64, keep bool, columns ...[]piece) piece {
	out := piece{gap: gap, keep: keep}
	for _, c := range columns {
		h := 0.0
		for i, p := range c {
			out.marks = append(out.marks, p.marks...)
			if i > 0 {
				h += p.gap
			}
			h += p.height
		}
		out.height = max(out.height, h)
	}
	out.draw = func(y float64) []*vector.Group {
		var gs []*vector.Group
		for _, c := range columns {
			at := y
			for i, p := range c {
				if i > 0 {
					at += p.gap
				}
				gs = append(gs, p.draw(at)...)
				at += p.height
			}
		}
		return gs
	}
	return out
}

// chords writes a card for every chord.
func (b *book) chords(l teach.LevelLesson) {
	if len(l.Chords) == 0 {
		return
	}
	b.heading(1, "Chords")
	width := (b.full() - float64(b.columns-1)*b.between) / float64(b.columns)
	for i := 0; i < len(l.Chords); i += b.columns {
		var columns [][]piece
		for j := i; j < min(i+b.columns, len(l.Chords)); j++ {
			columns = append(columns, b.card(l.Chords[j], float64(j-i)*(width+b.between), width))
		}
		b.add(beside(5, false, columns...))
	}
}

// card explains one chord: symbol, keyboard, tones, uses.
func (b *book) card(c teach.ChordCard, x, width float64) []piece {
	size := b.h2
	out := []piece{{height: size * 1.35, draw: func(y float64) []*vector.Group {
		line := &vector.Path{}
		line.MoveTo(b.paper.Side+x, y)
		line.LineTo(b.paper.Side+x+width, y)
		rule := &vector.Group{Kids: []vector.Node{&vector.Shape{Path: line, Stroke: vector.Ink, Width: 0.15}}}
		return []*vector.Group{rule, {Tag: &vector.Tag{Role: "H3"}, Kids: []vector.Node{b.Symbol(c.Symbol, b.paper.Side+x, y+size*1.05, size)}}}
	}}}
	if p, ok := b.keyboard(c, x, width); ok {
		out = append(out, p)
	}
	var tones []string
	for _, t := range c.Tones {
		tones = append(tones, fmt.Sprintf("%s %s (%s)", t.Degree, t.Note, t.Name))
	}
	text := strings.Join(tones, ", ")
	if c.Bass != "" {
		text += "; in the bass " + c.Bass
	}
	if text != "" {
		out = append(out, b.lines(para{x: x, width: width, gap: 1.5}, seg{text + ".", b.plain})...)
	}
	for _, u := range c.Uses {
		name := u.Roman
		if u.Function != "" && u.Function != u.Roman {
			name += ", " + u.Function
		}
		out = append(out, b.lines(para{x: x, width: width, gap: 1}, seg{strings.TrimPrefix(name, ", "), b.bold}, seg{", " + teach.Bars(u.Bars) + ". " + u.Why, b.plain})...)
	}
	return out
}

// keyboard draws the keys of a chord, with its degrees on them.
func (b *book) keyboard(c teach.ChordCard, x, width float64) (piece, bool) {
	if len(c.Keys) == 0 {
		return piece{}, false
	}
	var keys []engrave.Key
	seen := map[int]bool{}
	for _, k := range c.Keys {
		if !seen[k.MIDI] {
			seen[k.MIDI] = true
			keys = append(keys, engrave.Key{MIDI: k.MIDI, Label: k.Degree, Name: k.Note})
		}
	}
	o := engrave.KeyboardOptions{WhiteWidth: b.keyWidth, LabelSize: b.body, Title: c.Symbol}
	p, err := engrave.Keyboard(keys, o)
	if err == nil {
		if w, _ := p.Size(); w > width {
			o.WhiteWidth *= width / w * 0.995
			p, err = engrave.Keyboard(keys, o)
		}
	}
	if err != nil {
		b.told = append(b.told, lost(err, c.Symbol)...)
		return piece{}, false
	}
	d := p.Drawing()
	return piece{height: d.H, gap: 0.5, draw: func(y float64) []*vector.Group {
		return []*vector.Group{{At: vector.Translate(b.paper.Side+x, y), Kids: d.Root.Kids, Tag: &vector.Tag{Role: "Figure", Alt: c.Symbol + ". " + d.Description}}}
	}}, true
}

// drills writes the exercises.
func (b *book) drills(l teach.LevelLesson) {
	if len(l.Drills) == 0 {
		return
	}
	b.close()
	b.heading(1, "Drills")
	for _, d := range l.Drills {
		b.heading(2, d.Name)
		text := upper(d.Hands) + ". " + d.Words
		b.paragraph(para{keep: true}, seg{text, b.plain})
		more := ""
		if d.Count != "" {
			more = "Count " + d.Count + ". "
		}
		if s := steps(d.Steps); s != "" {
			more += "Tempo " + s + "."
		}
		if more != "" {
			b.paragraph(para{keep: true}, seg{more, b.plain})
		}
		s := b.press.strip(b.ctx, d.Music, b.full())
		if s.err != nil {
			b.told = append(b.told, lost(s.err, d.Name)...)
			b.settle()
			continue
		}
		b.row(b.style.paragraph+1, false, picture{d: s.d, alt: d.Name + ". " + s.d.Description})
	}
}

// practice writes the plan.
func (b *book) practice(l teach.LevelLesson) {
	p := l.Plan
	if len(p.Order) == 0 && len(p.Phrases) == 0 {
		return
	}
	b.need(b.depth() / 5)
	b.heading(1, "Practice plan")
	if len(p.First) > 0 {
		b.heading(2, "The hardest bars first")
		var items []item
		for i, h := range p.First {
			items = append(items, item{number(i), []seg{{upper(span(h.From, h.To)) + ". ", b.bold}, {h.Why, b.plain}}})
		}
		b.list(items...)
	}
	if len(p.Phrases) > 0 {
		b.heading(2, "Phrase by phrase")
		b.paragraph(para{keep: true}, seg{"In the order of practice, each phrase in the steps below.", b.plain})
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
	if len(p.Order) > 0 {
		b.heading(2, "The steps")
		var items []item
		for i, s := range p.Order {
			items = append(items, item{number(i), []seg{{s.Name + ", " + tempo(s.Step.Tempo) + ". ", b.bold}, {s.Text, b.plain}}})
		}
		b.list(items...)
	}
	if len(p.Rules) > 0 {
		b.heading(2, "When to go on, and when to stop")
		var items []item
		for _, r := range p.Rules {
			items = append(items, item{text: []seg{{r, b.plain}}})
		}
		b.list(items...)
	}
}

// number labels a point of a numbered list, counted from 0.
func number(i int) string { return fmt.Sprintf("%d.", i+1) }

func span(from, to int) string {
	var out []int
	for i := from; i <= to; i++ {
		out = append(out, i)
	}
	return teach.Bars(out)
}

// phrase writes one portion of practice.
func (b *book) phrase(ph teach.Phrase) []seg {
	out := []seg{{ph.Name + ", " + span(ph.From, ph.To) + ". ", b.bold}}
	var say []string
	if ph.As != "" {
		say = append(say, "The same as "+lower(ph.As)+".")
	}
	if ph.Left != "" {
		say = append(say, "Left hand: "+ph.Left+". Right hand: "+ph.Right+".")
	}
	if ph.Cadence != "" {
		say = append(say, upper(ph.Cadence)+".")
	}
	if len(ph.Join) == 2 {
		say = append(say, fmt.Sprintf("Join: from bar %d over the first beat of bar %d.", ph.Join[0], ph.Join[1]))
	}
	return append(out, seg{strings.Join(say, " "), b.plain})
}

func lower(s string) string {
	for i, r := range s {
		return strings.ToLower(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// lists writes what to listen for, mistakes and cautions, in columns where there
// is room for them.
func (b *book) lists(l teach.LevelLesson) {
	type list struct {
		head  string
		items [][]seg
	}
	listen, mistakes, care := list{head: "Listen for"}, list{head: "Common mistakes"}, list{head: "Take care"}
	for _, p := range l.Listen {
		listen.items = append(listen.items, []seg{{p.Text, b.plain}})
	}
	for _, p := range l.Mistakes {
		mistakes.items = append(mistakes.items, []seg{{p.Text, b.plain}})
	}
	for _, c := range l.Cautions {
		care.items = append(care.items, b.lead(upper(c.About), c.Text))
	}
	width := b.full()
	if b.columns > 1 {
		width = b.half()
	}
	column := func(l list, x float64) []piece {
		if len(l.items) == 0 {
			return nil
		}
		out := b.headingLines(1, l.head, x, width)
		whole := &vector.Tag{Role: "L"}
		for i, it := range l.items {
			p := b.listed("")
			p.of(whole)
			p.x, p.width = x, width
			p.keep = len(l.items) > 1 && (i == 0 || i == len(l.items)-2)
			out = append(out, b.lines(p, it...)...)
		}
		return out
	}
	if b.columns > 1 {
		left, right := column(listen, 0), column(mistakes, width+b.between)
		if both := beside(9, false, left, right); left != nil && right != nil && both.height <= b.depth() {
			b.add(both)
			listen.items, mistakes.items = nil, nil
		}
		width = b.full()
	}
	for _, l := range []list{listen, mistakes, care} {
		for _, p := range column(l, 0) {
			b.add(p)
		}
	}
}

// cautions writes cautions as a list.
func (b *book) cautions(cs []teach.Caution) {
	var items []item
	for _, c := range cs {
		items = append(items, item{text: b.lead(upper(c.About), c.Text)})
	}
	b.list(items...)
}
