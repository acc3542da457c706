package workbook

import (
	"fmt"
	"slices"

	"gradatim/internal/engrave/vector"
	"gradatim/internal/teach"
)

// moreExamples writes the worked examples of a level that its opening had no room for.
func (b *book) moreExamples(i int) {
	l := b.in.Lesson.Levels[i]
	first := true
	for k, n := range l.New {
		if b.shown[i][k] {
			continue
		}
		if first {
			first = false
			b.heading(1, b.say("more-examples"))
			b.explainShades()
		}
		b.block = append(b.block, piece{keep: true, id: exampleID(l, n), draw: nothing})
		b.entry(n, n.How)
	}
}

func exampleID(l teach.LevelLesson, n teach.New) string {
	return fmt.Sprintf("example %d %s", l.Number, n.Technique)
}

func (b *book) explainShades() {
	b.paragraph(para{keep: true}, seg{text: b.say("shades"), face: b.plain})
}

// entry writes a technique's example.
func (b *book) entry(n teach.New, text string) {
	b.heading(2, n.Name)
	b.paragraph(para{keep: true, loose: true}, seg{text: b.place(n) + " ", face: b.lean}, seg{text: text, face: b.plain})
	b.example(n)
}

// example shows a place of the tune without a technique and with it, why it fits,
// and how to practise it: side by side as far as there is room.
func (b *book) example(n teach.New) {
	e := n.Example
	text := append([][]piece{b.lines(para{gap: b.style.paragraph + 1}, b.because(e)...)}, b.practise(n, para{})...)
	tell := func() {
		all := slices.Concat(text...)
		for i, p := range all {
			if !b.o.LargePrint { // there a page would hold one alone
				p.keep = i+1 < len(all) // an example is read as one
			}
			b.add(p)
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
			b.lost(s.err, n.Name)
			tell()
			return
		}
	}
	p := picture{d: before.d, alt: e.Before.Caption + ". " + before.d.Description}
	q := picture{d: after.d, alt: e.After.Caption + ". " + after.d.Description, under: after.shade(e.Notes)}
	gap := b.style.paragraph + 1
	caption := func(text string, x, width float64) []piece {
		return b.lines(para{x: x, width: width, keep: true}, seg{text: text, face: b.lean})
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
		pair := beside(gap, true, append(caption(e.Before.Caption, 0, b.half()), b.figures(1.5, true, p)),
			append(caption(e.After.Caption, q.x, b.half()), b.figures(1.5, true, q)))
		pair.loose = true
		b.add(pair)
		tell()
		return
	}
	b.paragraph(para{gap: gap, keep: true}, seg{text: e.Before.Caption, face: b.lean})
	first := b.figures(1.5, true, p)
	first.loose = true
	b.add(first)
	b.paragraph(para{gap: gap, keep: true}, seg{text: e.After.Caption, face: b.lean})
	second := b.figures(1.5, true, q)
	second.loose = true
	b.add(second)
	tell()
}

func (b *book) because(e teach.Example) []seg {
	if e.Why == "" {
		return nil
	}
	return []seg{{text: b.say("why", "Bars", b.bars(e.Bars)) + " ", face: b.bold}, {text: e.Why, face: b.plain}}
}

// practise lists the steps towards a technique.
func (b *book) practise(n teach.New, o para) [][]piece {
	var out [][]piece
	whole := &vector.Tag{Role: "L"}
	for i, p := range n.Practise {
		q := b.listed(number(i))
		q.of(whole)
		q.x, q.width = o.x, o.width
		out = append(out, b.lines(q, seg{text: p, face: b.plain}))
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
	out.split = func(room float64) (first, rest piece, ok bool) {
		var upper, lower [][]piece
		more := false
		for _, c := range columns {
			n, h := 0, 0.0
			for i, p := range c {
				if i > 0 {
					h += p.gap
				}
				if h += p.height; h > room {
					break
				}
				if !p.keep || i == len(c)-1 {
					n = i + 1
				}
			}
			if n == 0 && len(c) > 0 { // no column begins on the next page
				return piece{}, piece{}, false
			}
			more = more || n < len(c)
			upper, lower = append(upper, c[:n]), append(lower, c[n:])
		}
		if !more {
			return piece{}, piece{}, false
		}
		return beside(gap, false, upper...), beside(gap, keep, lower...), true
	}
	return out
}
