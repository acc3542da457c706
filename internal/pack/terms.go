package pack

import (
	"html/template"
	"strings"
	"unicode"

	"gradatim/internal/teach"
)

// termID is where a term stands on the page of words: a name as HTML and XML allow it.
func termID(term string) string {
	return "term-" + strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return '-'
	}, term)
}

// linker links the terms of texts to the page of words, each where a page has it first.
type linker struct {
	glossary []teach.Term
	page     string // of the words
	seen     map[int]bool
}

func (l linker) link(text string) template.HTML {
	var b strings.Builder
	for _, p := range teach.Pieces(l.glossary, text) {
		if p.Term < 0 || l.seen[p.Term] {
			b.WriteString(template.HTMLEscapeString(p.Text))
			continue
		}
		l.seen[p.Term] = true
		b.WriteString(`<a class="term" href="` + l.page + "#" + template.HTMLEscapeString(termID(l.glossary[p.Term].Term)) + `">` + template.HTMLEscapeString(p.Text) + "</a>")
	}
	return template.HTML(b.String())
}

// told is what is said of a new technique, with its terms linked.
type told struct{ What, How template.HTML }

// toldOf links what is said of the new things of a level. The name of a technique is no
// link in its own text.
func toldOf(l teach.LevelLesson, glossary []teach.Term, page string) []told {
	to := linker{glossary, page, map[int]bool{}}
	var out []told
	for _, n := range l.New {
		for i, t := range glossary {
			if strings.EqualFold(t.Term, n.Name) {
				to.seen[i] = true
			}
		}
		out = append(out, told{to.link(n.What), to.link(n.How)})
	}
	return out
}
