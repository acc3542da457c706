package workbook

import (
	"errors"
	"fmt"
	"strings"

	"gradatim/internal/engrave/vector"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// front writes the title page, whose list of contents is drawn last, when the
// pages are numbered, and what holds for every level.
func (b *book) front() {
	b.turn()
	first := b.open
	first.title = true
	space := func(h float64) {
		b.add(piece{height: h, keep: true, draw: nothing})
	}
	less := b.paper.Height / 297
	if b.o.LargePrint {
		less *= 0.3
	}
	space(26 * less)
	size := b.h1 * 1.5
	for len(b.wrap([]seg{{text: b.title, face: b.bold}}, size, b.full())) > 4 && size > b.h3 {
		size *= 0.9
	}
	title := b.lines(para{size: size, width: b.full(), role: "H1", keep: true}, seg{text: b.title, face: b.bold})
	for i, p := range title {
		if p.keep = true; i == 0 {
			p.marks = []mark{{b.title, 0}}
		}
		b.add(p)
	}
	text := func(gap, size float64, face vector.Face, s string) {
		if s != "" {
			b.paragraph(para{gap: gap, size: size, width: b.full(), keep: true}, seg{text: s, face: face})
		}
	}
	if b.other != "" {
		text(2, b.h3, b.plain, b.other)
	}
	text(5, b.h3, b.plain, strings.Join(b.in.Lesson.Composers, ", "))
	text(2, b.body, b.plain, boxed(b.in.Own.Studio))
	for _, s := range b.in.Own.Dedication {
		text(2, b.body, b.lean, boxed(s))
	}
	text(9*less, b.h3, b.plain, b.say("title", "n", len(b.in.Lesson.Levels)))
	text(1, b.body, b.plain, strings.Join([]string{b.in.Lesson.Key, b.in.Lesson.Meter, b.words.Say("site.bars", "n", b.in.Lesson.Bars)}, " · "))
	text(9*less, b.body, b.plain, b.words.Rights(b.in.Rights))
	if b.in.Rights.Status != leadsheet.Unknown && len(b.in.Rights.Territories) > 0 {
		text(1, b.body, b.plain, b.say("territories", "Names", strings.Join(b.in.Rights.Territories, ", ")))
	}
	b.nameLine(8 * less)
	b.contents(10 * less)
	b.close()

	b.named = b.say("before")
	b.heading(0, b.named)
	b.own(b.in.Own.Introduction)
	b.cautions(b.in.Lesson.Cautions)
	b.heading(1, b.say("how"))
	for _, s := range b.words.Lines("book.how-texts") {
		b.paragraph(para{gap: b.style.paragraph}, seg{text: s, face: b.plain})
	}
	if len(b.in.Lesson.Signs) > 0 {
		b.heading(1, b.say("signs"))
		var items []func(x, width float64) []piece
		for _, g := range b.in.Lesson.Signs {
			items = append(items, func(x, width float64) []piece {
				return b.lines(para{x: x, width: width, gap: b.style.paragraph}, seg{text: g.Sign + ": ", face: b.bold}, seg{text: g.Meaning + ".", face: b.plain})
			})
		}
		b.spread(items)
	}
	b.close()
	b.named = ""
}

// nameLine is where a pupil writes whose book it is.
func (b *book) nameLine(gap float64) {
	label := b.words.Say("site.homework.name")
	b.add(piece{gap: gap, height: b.body * 2, keep: true, draw: func(y float64) []*vector.Group {
		text := b.Line(label, b.paper.Side, y+b.body*1.6, b.body, b.plain)
		rule := &vector.Path{}
		x := b.paper.Side + text.Width() + b.body/2
		rule.MoveTo(x, y+b.body*1.8)
		rule.LineTo(b.paper.Side+min(b.full(), 110), y+b.body*1.8)
		return []*vector.Group{{Tag: &vector.Tag{Role: "P"}, Kids: []vector.Node{text}}, {Kids: []vector.Node{&vector.Shape{Path: rule, Stroke: vector.Ink, Width: 0.15}}}}
	}})
}

// own writes paragraphs of the teacher's.
func (b *book) own(text []string) {
	for _, s := range text {
		b.paragraph(para{gap: b.style.paragraph}, seg{text: boxed(s), face: b.plain})
	}
}

// boxed has a square for each letter that the fonts lack.
func boxed(s string) string {
	return strings.Map(func(r rune) rune {
		if vector.CanDraw(r) {
			return r
		}
		return '□'
	}, s)
}

// contents lists the sections, each with its page before it. The pages are known
// when it is drawn.
func (b *book) contents(gap float64) {
	names := []string{b.say("before")}
	for _, l := range b.in.Lesson.Levels {
		names = append(names, b.levelName(l))
	}
	names = append(names, b.behind...)
	blank := b.width(seg{text: "  ", face: b.plain}) * b.body
	hang := b.width(seg{text: "000", face: b.plain})*b.body + blank
	for i, name := range names {
		ps := b.lines(para{x: hang, width: b.full() - hang, gap: b.body * 0.1}, seg{text: name, face: b.plain})
		if i == 0 {
			ps[0].gap = gap
		}
		draw := ps[0].draw
		ps[0].draw = func(y float64) []*vector.Group {
			gs := draw(y)
			n := b.line(fmt.Sprint(b.sectionPage(i)), b.paper.Side, y, b.body)
			n.X += hang - blank - n.Width()
			n.Leads = b.sectionPage(i)
			gs[0].Kids = append([]vector.Node{n}, gs[0].Kids...)
			return gs
		}
		for j := range ps {
			ps[j].keep = true
			b.add(ps[j])
		}
	}
}

// sectionPage returns the number of the page on which a section begins.
func (b *book) sectionPage(section int) int {
	for i, l := range b.leaves {
		for _, p := range l.pieces {
			for _, m := range p.marks {
				if m.level > 0 || l.title {
					continue
				}
				if section == 0 {
					return i + 1
				}
				section--
			}
		}
	}
	return 0
}

// back writes what serves all levels.
func (b *book) back() {
	b.glossary()
	b.credits()
}

func (b *book) glossary() {
	if len(b.in.Lesson.Glossary) == 0 {
		return
	}
	b.close()
	b.named = b.say("glossary")
	b.heading(0, b.named)
	var items []func(x, width float64) []piece
	for _, t := range b.in.Lesson.Glossary {
		items = append(items, func(x, width float64) []piece {
			return b.lines(para{x: x, width: width, gap: b.style.paragraph}, b.lead(words.Upper(t.Term), t.Definition)...)
		})
	}
	b.spread(items)
}

func (b *book) credits() {
	b.need(b.depth() / 3)
	b.named = b.say("credits")
	b.heading(0, b.named)
	say := func(name, text string) {
		if text != "" {
			b.paragraph(para{gap: b.style.paragraph}, b.lead(b.say("credit."+name), text)...)
		}
	}
	r := b.in.Rights
	title := b.title
	if b.other != "" {
		title += " (" + b.other + ")"
	}
	say("tune", title+".")
	say("composer", b.people(r.Composers))
	say("words", b.people(r.Lyricists))
	if r.Year > 0 {
		s := fmt.Sprint(r.Year)
		if r.Country != "" {
			s += ", " + r.Country
		}
		say("first", s+".")
	}
	say("source", ended(r.Source))
	say("rights", b.words.Rights(r))
	say("program", ended(b.in.Program))
	say("engraving", b.say("credit.engraving-text"))
	b.paragraph(para{gap: b.style.paragraph * 2}, seg{text: b.say("advice"), face: b.plain})
	b.close()
}

func ended(s string) string {
	if s = strings.TrimSpace(s); s == "" || strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}

func (b *book) people(ps []leadsheet.Person) string {
	var out []string
	for _, p := range ps {
		out = append(out, b.words.Person(p))
	}
	return ended(strings.Join(out, ", "))
}

// lost tells of a picture that could not be made, once.
func (b *book) lost(err error, what string) {
	var ps leadsheet.Problems
	if errors.As(err, &ps) {
		ps = within(ps, what)
	} else {
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "workbook-picture", "Picture", what, "Error", err.Error())
	}
	for _, p := range ps {
		if !b.told.Has(p) {
			b.told = append(b.told, p)
		}
	}
}
