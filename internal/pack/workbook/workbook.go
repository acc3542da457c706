package workbook

import (
	"context"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
	"gradatim/internal/musicxml"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Input is what a workbook is made of.
type Input struct {
	Lesson teach.Lesson
	// Scores are the pages of Lesson.Levels, in the same order, with the fingers
	// that are printed.
	Scores []score.Score
	// Rights are the tune's; the zero value prints that they are unknown.
	Rights leadsheet.Rights
	// Program names what made the workbook, for the credits; may be empty.
	Program  string
	Language string // as package words has them; "": the default
	Own      Own
}

// Own is what the teacher says in it to whoever learns, each text as paragraphs.
type Own struct {
	Studio       string
	Dedication   []string
	Introduction []string
	Levels       [][]string
}

// Options say how it looks. The zero value is on A4.
type Options struct {
	Paper      engrave.Paper
	LargePrint bool // 16 points and more, larger staves and keyboards
	Workers    int  // pictures engraved at a time; 0: one for each processor
}

// Make returns the workbook as a PDF file, with what could not be printed as it
// was meant.
func Make(ctx context.Context, g *engrave.Engraver, in Input, o Options) ([]byte, leadsheet.Problems, error) {
	if len(in.Lesson.Levels) == 0 {
		return nil, nil, fmt.Errorf("workbook: a lesson without levels")
	}
	if len(in.Scores) != len(in.Lesson.Levels) {
		return nil, nil, fmt.Errorf("workbook: %d scores for %d levels", len(in.Scores), len(in.Lesson.Levels))
	}
	if o.Paper == (engrave.Paper{}) {
		o.Paper = engrave.A4
	}
	say, err := words.In(in.Language)
	if err != nil {
		return nil, nil, err
	}
	st := ordinary
	if o.LargePrint {
		st = large
	}
	es, err := g.Setter(ctx)
	if err != nil {
		return nil, nil, err
	}
	b := &book{ctx: ctx, in: in, words: say, o: o, title: in.Lesson.Title,
		press: &press{g: g, lang: say.ID(), o: o, style: st, cache: map[stripKey]strip{}}}
	b.flow = flow{setter: newSetter(es, st, say.Lines("book.together")), paper: o.Paper}
	b.flow.bottom = b.footTop() - 4
	b.pageNumber = func(id string) int { return b.pages[id] }
	b.name()
	b.prepare()
	for i := range in.Scores {
		if err := b.engraveScore(i); err != nil {
			return nil, nil, err
		}
	}
	b.write()
	if err := context.Cause(ctx); err != nil {
		return nil, nil, err
	}
	pdf, err := b.pdf()
	return pdf, b.told, err
}

// book is a workbook in the making.
type book struct {
	flow
	ctx   context.Context
	in    Input
	words *words.Words
	o     Options
	press *press
	title string // as it is printed
	other string // the sheet's title, where another is printed
	told  leadsheet.Problems

	scores []*engrave.Document // of the levels
	shown  [][]bool            // by level: which of its new techniques the opening shows with an example
	pages  map[string]int      // on which the places are that texts refer to
	behind []string            // sections after the levels
	carded map[string]string   // by symbol: the id of the card that explains a chord
}

// say words a message of the workbook.
func (b *book) say(key string, parts ...any) string { return b.words.Say("book."+key, parts...) }

// bars names bars by their printed numbers.
func (b *book) bars(bars []int) string { return b.words.Value(words.Bars(bars)) }

// name chooses the title to print: the tune's, or one of its other titles where
// the fonts lack letters of the first. Of a title in another script rows of
// squares would be left: then there is a stand-in, and the title is in the file's
// own data alone.
func (b *book) name() {
	lacking := undrawable(b.title)
	if lacking == "" {
		return
	}
	for _, t := range b.in.Rights.OtherTitles {
		if undrawable(t) == "" {
			b.other, b.title = b.title, t
			return
		}
	}
	var printed string
	if total := len([]rune(strings.Join(strings.Fields(b.title), ""))); 3*drawless(b.title) > total {
		printed = b.say("stand-in")
	} else {
		printed = boxed(b.title)
	}
	b.title = printed
	b.told.Tell(leadsheet.Warning, leadsheet.Pos{}, "title-letters", "n", len([]rune(lacking)), "Printed", leadsheet.Quoted(printed))
}

// drawless counts the letters of a text that cannot be drawn.
func drawless(s string) int {
	n := 0
	for _, r := range s {
		if !vector.CanDraw(r) {
			n++
		}
	}
	return n
}

// half is the width of a picture that shares its row.
func (b *book) half() float64 { return (b.full() - b.between) / 2 }

// beside tells whether two pictures stand side by side.
func (b *book) beside() bool { return b.columns > 1 && b.half() >= 80 }

// pictureWidth is the width of small scores: on paper that is wide enough two stand side by
// side, as wide as on the site, where they are the same drawings.
func (b *book) pictureWidth() float64 {
	if b.beside() {
		return b.half()
	}
	return b.full()
}

// prepare engraves the pictures on all processors.
func (b *book) prepare() {
	var scores []teach.Music
	var widths []float64
	want := func(s teach.Music, w float64) { scores, widths = append(scores, s), append(widths, w) }
	w := b.pictureWidth()
	for _, l := range b.in.Lesson.Levels {
		for _, n := range l.New {
			want(n.Example.Before, w)
			want(n.Example.After, w)
		}
		for _, d := range l.Drills {
			want(d.Music, w)
		}
	}
	n := b.o.Workers
	if n <= 0 {
		n = runtime.GOMAXPROCS(0)
	}
	b.press.order(b.ctx, n, scores, widths)
}

// write makes all pages. Texts name pages that come after them: it is done again
// until the numbers are right, which is the second time unless a longer number
// moved a page.
func (b *book) write() {
	told := b.told
	for range 4 {
		b.flow.leaves, b.flow.open, b.flow.block, b.flow.named = nil, nil, nil, ""
		b.told, b.shown, b.carded = told, make([][]bool, len(b.in.Lesson.Levels)), map[string]string{}
		b.front()
		for i := range b.in.Lesson.Levels {
			b.level(i)
		}
		b.back()
		if pages, behind := b.found(); !maps.Equal(pages, b.pages) || !slices.Equal(behind, b.behind) {
			b.pages, b.behind = pages, behind
			continue
		}
		return
	}
}

// found lists the pages that texts refer to, and the sections after the levels.
func (b *book) found() (pages map[string]int, behind []string) {
	pages = map[string]int{}
	sections := 0
	for i, l := range b.leaves {
		for _, p := range l.pieces {
			if p.id != "" {
				pages[p.id] = i + 1
			}
			for _, m := range p.marks {
				if m.level > 0 || l.title {
					continue
				}
				if sections++; sections > 1+len(b.in.Lesson.Levels) {
					behind = append(behind, m.text)
				}
			}
		}
	}
	return pages, behind
}

// pageOf returns the number of the page on which a place is.
func (b *book) pageOf(id string) string {
	if n := b.pages[id]; n > 0 {
		return fmt.Sprint(n)
	}
	return "00"
}

// engraveScore engraves the pages of a level.
func (b *book) engraveScore(i int) error {
	l := b.in.Lesson.Levels[i]
	s := b.in.Scores[i]
	s.Title = b.title
	xml, err := musicxml.Write(s)
	if err != nil {
		return err
	}
	paper := b.paper
	paper.Bottom += (b.paper.Height - b.footTop() - 13) / 0.75
	paper.Bottom = min(paper.Bottom, paper.Height/4)
	doc, err := b.press.g.Pages(b.ctx, xml, engrave.Layout{Paper: paper, LargePrint: b.o.LargePrint,
		Title: engrave.Title{Title: b.title}, Foot: " ", Lang: b.words.ID()})
	if err != nil {
		return err
	}
	b.told = append(b.told, within(doc.Warnings, words.Tell("told.level", "n", l.Number))...)
	b.scores = append(b.scores, doc)
	return nil
}

// music adds the engraved pages of a level.
func (b *book) music(i int, notice string) {
	doc := b.scores[i]
	b.close()
	for p := range doc.Pages() {
		lf := &leaf{music: doc.Music(p), notice: notice, named: b.named}
		if p == 0 {
			lf.marks = append(lf.marks, vector.Bookmark{Text: b.words.Say("sheet.score"), Level: 1})
		}
		for _, m := range doc.Marks() {
			if m.Page == p {
				lf.marks = append(lf.marks, vector.Bookmark{Text: m.Text, Level: 2, Y: m.Y})
			}
		}
		b.leaves = append(b.leaves, lf)
	}
}

// Distances in the foot.
func (b *book) footLine() float64 { return b.paper.Height - max(9, b.paper.Bottom*0.75) }

// footTop is where the foot begins, with room for a notice above its line.
func (b *book) footTop() float64 { return b.footLine() - b.body*(1+b.leading) }

// pdf draws the pages.
func (b *book) pdf() ([]byte, error) {
	meta := vector.PDFMeta{Title: b.in.Lesson.Title, Author: strings.Join(b.in.Lesson.Composers, ", "), Lang: b.words.ID(),
		Subject: b.say("subject", "n", len(b.in.Lesson.Levels))}
	var pages []*vector.Drawing
	for i, l := range b.leaves {
		d := &vector.Drawing{W: b.paper.Width, H: b.paper.Height, Lang: b.words.ID(), Title: b.words.Say("sheet.titled-page", "Title", b.title, "n", i+1, "Of", len(b.leaves))}
		for j, p := range l.pieces {
			for _, g := range p.draw(l.at[j]) {
				d.Root.Add(g)
			}
			for _, m := range p.marks {
				meta.Bookmarks = append(meta.Bookmarks, vector.Bookmark{Text: m.text, Level: m.level, Page: i, Y: max(0, l.at[j]-2)})
			}
		}
		if l.music != nil {
			systems := &vector.Group{Tag: &vector.Tag{Role: "Figure", Alt: l.music.Description}}
			for _, k := range l.music.Root.Kids {
				if g, ok := k.(*vector.Group); ok && g.Class == "title-block" {
					d.Root.Add(&vector.Group{Kids: []vector.Node{g}, Tag: &vector.Tag{Role: "H2"}})
					continue
				}
				systems.Add(k)
			}
			d.Root.Add(systems)
			for _, m := range l.marks {
				m.Page = i
				meta.Bookmarks = append(meta.Bookmarks, m)
			}
		}
		if !l.title {
			b.foot(d, l, i)
		}
		pages = append(pages, d)
	}
	return vector.PDF(b.ctx, pages, meta)
}

// foot writes what stands under every page: on the left what it belongs to, on
// the right its number, above them a notice. Without a tag it is no part of the
// text that is read aloud.
func (b *book) foot(d *vector.Drawing, l *leaf, i int) {
	g := &vector.Group{Class: "foot"}
	y := b.footLine()
	of := b.Line(b.words.Say("sheet.page", "n", i+1, "Of", len(b.leaves)), 0, y, b.body, b.plain)
	right := of.Width()
	of.X = b.paper.Width - b.paper.Side - right
	room := b.full() - right - 4
	left := b.title
	if l.named != "" {
		left = b.shorten(b.title, room-b.width(seg{text: " · " + l.named, face: b.plain})*b.body) + " · " + l.named
	}
	g.Add(b.Line(b.shorten(left, room), b.paper.Side, y, b.body, b.plain), of)
	notice := l.notice
	if b.in.Rights.Status == leadsheet.Unknown {
		notice = b.say("private") // on every page
	}
	if notice != "" {
		g.Add(b.Line(b.shorten(notice, b.full()), b.paper.Side, y-b.body*b.leading, b.body, b.plain))
	}
	d.Root.Add(g)
}

// shorten cuts a text to a width.
func (b *book) shorten(s string, width float64) string {
	if b.width(seg{text: s, face: b.plain})*b.body <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && b.width(seg{text: strings.TrimRight(string(r), " ,;") + " …", face: b.plain})*b.body > width {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ,;") + " …"
}
