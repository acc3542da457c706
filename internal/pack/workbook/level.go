package workbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// level writes the pages of one level, all that it has in one place: what to know in two
// pages, the score, the worked examples for which the two pages have no room, drills,
// plan, chords, and room to write on what is left of the last page.
func (b *book) level(i int) {
	l := b.in.Lesson.Levels[i]
	b.close()
	b.named = b.words.Say("level.number", "n", l.Number)
	planned := b.opening(i)
	b.music(i, b.words.Rights(b.in.Rights))
	b.moreExamples(i)
	b.drills(l)
	if !planned {
		b.practice(l)
	}
	b.lists(l)
	b.chords(i)
	b.diary()
}

// openings are how many pages a level's opening may take, the fewer the better.
func (b *book) openings() []int {
	if b.o.LargePrint {
		return []int{4, 5}
	}
	return []int{2, 3}
}

// opening writes what the level asks for and what it brings. Of the techniques
// that are new, as many are shown with their example as there is room for: those
// that the level is there for come first, and the headline is always among them. The
// others are told in a line or two.
//
// A score of two pages begins on a left-hand page, so that none is turned while it is
// played: the opening has a page more where that makes it so, or else the plan of
// practice stands before the score; planned tells so.
func (b *book) opening(i int) (planned bool) {
	l := b.in.Lesson.Levels[i]
	turns := b.scores[i].Pages()%2 == 0
	left := func(pages int) bool { return !turns || (len(b.leaves)+pages)%2 == 1 }
	headline := slices.IndexFunc(l.New, func(n teach.New) bool { return n.Main })
	var shown []bool
	for _, most := range b.openings() {
		shown = b.examplesIn(i, most)
		if headline >= 0 && !shown[headline] {
			continue
		}
		if left(b.pagesOf(func() { b.openingWith(i, shown) })) {
			b.shown[i] = shown
			b.openingWith(i, shown)
			return false
		}
	}
	if headline >= 0 { // larger than all the room
		shown[headline] = true
	}
	b.shown[i] = shown
	write := func() {
		b.openingWith(i, shown)
		b.practice(l)
	}
	if !left(b.pagesOf(func() { b.openingWith(i, shown) })) && left(b.pagesOf(write)) {
		write()
		return true
	}
	b.openingWith(i, shown)
	return false
}

// examplesIn chooses the new techniques whose examples an opening of so many pages shows.
func (b *book) examplesIn(i, most int) []bool {
	l := b.in.Lesson.Levels[i]
	rank := make([]int, len(l.New))
	for k := range rank {
		rank[k] = k
	}
	slices.SortStableFunc(rank, func(x, y int) int {
		for _, first := range []func(teach.New) bool{func(n teach.New) bool { return n.Main }, func(n teach.New) bool { return n.Chief }} {
			if a, c := first(l.New[x]), first(l.New[y]); a != c {
				if a {
					return -1
				}
				return 1
			}
		}
		return cmp.Compare(len(l.New[y].Bars), len(l.New[x].Bars))
	})
	shown := make([]bool, len(l.New))
	for _, k := range rank {
		shown[k] = true
		if b.pagesOf(func() { b.openingWith(i, shown) }) > most {
			shown[k] = false
		}
	}
	return shown
}

// pagesOf counts the pages that something would take, beginning on a new one.
func (b *book) pagesOf(write func()) int {
	before, told := b.flow, b.told
	b.leaves = nil
	write()
	b.close()
	n := len(b.leaves)
	b.flow, b.told = before, told
	return n
}

func (b *book) openingWith(i int, shown []bool) {
	l := b.in.Lesson.Levels[i]
	b.heading(0, b.levelName(l))
	about := []string{b.in.Lesson.Key, b.in.Lesson.Meter, b.words.Say("site.bars", "n", b.in.Lesson.Bars)}
	if l.Feel != "" && l.Feel != b.words.Value(leadsheet.Unstated) {
		about = append(about, l.Feel)
	}
	about = append(about, b.say("goal", "Tempo", tempo(l.Tempo)))
	b.paragraph(para{}, seg{text: strings.Join(about, " · "), face: b.plain})
	if i < len(b.in.Own.Levels) {
		b.own(b.in.Own.Levels[i])
	}

	bring, given := list{head: b.say("bring")}, list{head: b.say("given")}
	for _, it := range l.Bring {
		bring.items = append(bring.items, b.lead(it.Name, it.Text))
	}
	known := slices.Clone(l.Given)
	slices.SortStableFunc(known, func(x, y teach.Known) int { return cmp.Compare(x.From, y.From) })
	var names []string
	for k, g := range known {
		names = append(names, b.words.Technique(g.Technique).Name)
		if k+1 == len(known) || known[k+1].From != g.From {
			given.items = append(given.items, b.lead(b.words.Say("level.number", "n", g.From), words.Upper(strings.Join(names, ", "))+"."))
			names = nil
		}
	}
	b.sideBySide(1, bring, given)
	b.chief(i)
	b.news(l, shown)
}

// news writes what is new: all of it in a line or two, then examples.
func (b *book) news(l teach.LevelLesson, shown []bool) {
	if len(l.New)+len(l.Also) == 0 {
		return
	}
	b.heading(1, b.say("new"))
	tell := func(name, where, text, example string) func(x, width float64) []piece {
		return func(x, width float64) []piece {
			segs := []seg{{text: strings.TrimRight(name, ".:") + ". ", face: b.bold}, {text: where + " ", face: b.lean}, {text: text, face: b.plain}}
			if example != "" {
				segs = append(segs, seg{text: " " + b.say("example-page", "Page", b.pageOf(example)), face: b.plain, to: example})
			}
			return b.lines(para{x: x, width: width, gap: b.style.paragraph}, segs...)
		}
	}
	var others []func(x, width float64) []piece
	some := false
	main := slices.IndexFunc(l.New, func(n teach.New) bool { return n.Main })
	for k, n := range l.New {
		some = some || shown[k]
		example := ""
		if !shown[k] {
			example = exampleID(l, n)
		}
		one := tell(n.Name, b.place(n), n.What, example)
		if k > main {
			others = append(others, one)
			continue
		}
		for _, p := range one(0, b.full()) { // what the main thing needs, and itself
			b.add(p)
		}
		if k == main && k+1 < len(l.New) {
			b.paragraph(para{gap: b.style.paragraph * 2, keep: true}, seg{text: b.words.Say("site.level.beside"), face: b.lean})
		}
	}
	for _, a := range l.Also {
		others = append(others, tell(a.Name, words.Upper(b.bars(a.Bars))+".", a.What+" "+a.How, ""))
	}
	b.spread(others)
	if !some {
		return
	}
	b.heading(1, b.say("examples"))
	b.explainShades()
	for _, main := range []bool{true, false} { // the headline first
		for k, n := range l.New {
			if shown[k] && n.Main == main {
				b.entry(n, n.How)
			}
		}
	}
}

// place tells where a technique acts, and in which bars.
func (b *book) place(n teach.New) string {
	return b.say("place", "Stage", words.Upper(n.Stage), "Bars", b.bars(n.Bars))
}

// label names a level, levelName with its title.
func (b *book) label(l teach.LevelLesson) string {
	return b.words.Form("level.label", "", "n", l.Number, "name", l.Name)
}

func (b *book) levelName(l teach.LevelLesson) string {
	if l.Title == "" {
		return b.label(l)
	}
	return b.say("level", "Level", b.label(l), "Title", l.Title)
}

// noteSigns are the note values of tempo marks that have a sign.
var noteSigns = map[theory.Dur]string{theory.Quarter: "♩", theory.Quarter * 3 / 2: "♩.", theory.Eighth: "♪", theory.Eighth * 3 / 2: "♪."}

func tempo(t teach.Tempo) string {
	return fmt.Sprintf("%s = %d", cmp.Or(noteSigns[t.Value], t.Beat), t.PerMinute)
}

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
	return []seg{{text: strings.TrimRight(name, ".:") + ". ", face: b.bold}, {text: text, face: b.plain}}
}
