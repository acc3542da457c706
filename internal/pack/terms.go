package pack

import (
	"html"
	"slices"
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

// linker links the terms of a page to the page of words, each where the page has it first.
type linker struct {
	glossary []teach.Term
	page     string   // of the words
	own      []string // names that the page explains itself
	easy     []string // terms that every reader of notes knows
	homonyms []string // words that texts use in another sense too, in small letters
}

// other tells whether a word may mean something else than the term: a number that counts
// bars, or one of the language's homonyms.
func (l linker) other(word string) bool {
	return !strings.ContainsFunc(word, unicode.IsLetter) || slices.Contains(l.homonyms, strings.ToLower(word))
}

// linkerOf is the linker of a page that tells of a level. The name of a technique is no
// link in its own text.
func (s *site) linkerOf(l teach.LevelLesson, glossary []teach.Term, page string) linker {
	to := linker{glossary: glossary, page: page, homonyms: strings.Fields(s.say("homonyms")), easy: strings.Split(s.say("easy"), "; ")}
	for _, n := range l.New {
		to.own = append(to.own, n.Name)
	}
	return to
}

// unlinked are the elements in whose text no term is linked: what is a link or pressed
// already, what names other things, and pictures.
var unlinked = map[string]bool{"a": true, "button": true, "summary": true, "label": true, "h1": true, "h2": true, "h3": true, "svg": true,
	"script": true, "style": true, "strong": true, "caption": true, "figcaption": true, "nav": true, "header": true, "footer": true, "thead": true, "dt": true, "head": true, "select": true}

// link links the text of a whole page, as the templates write it.
func (l linker) link(page string) string {
	forms := teach.Index(l.glossary)
	seen := map[int]bool{}
	for i, t := range l.glossary {
		for _, name := range slices.Concat(l.own, l.easy) {
			if strings.EqualFold(t.Term, name) {
				seen[i] = true
			}
		}
	}
	var b strings.Builder
	var shut []string // elements that are open and in which nothing is linked
	for page != "" {
		text, rest, found := strings.Cut(page, "<")
		if len(shut) > 0 || strings.TrimSpace(text) == "" {
			b.WriteString(text)
		} else {
			b.WriteString(l.text(forms, text, seen))
		}
		if !found {
			break
		}
		end := strings.IndexByte(rest, '>') + 1
		if end == 0 {
			return b.String() + "<" + rest
		}
		tag := rest[:end]
		page = rest[end:]
		b.WriteString("<" + tag)
		name := strings.ToLower(strings.TrimLeft(tag, "/"))
		if i := strings.IndexFunc(name, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }); i >= 0 {
			name = name[:i]
		}
		switch {
		case !unlinked[name]:
		case strings.HasPrefix(tag, "/"):
			if n := len(shut); n > 0 && shut[n-1] == name {
				shut = shut[:n-1]
			}
		default:
			shut = append(shut, name)
		}
	}
	return b.String()
}

func (l linker) text(forms teach.Forms, escaped string, seen map[int]bool) string {
	var b strings.Builder
	for _, p := range forms.Pieces(html.UnescapeString(escaped)) {
		if p.Term < 0 || seen[p.Term] || l.other(p.Text) {
			b.WriteString(html.EscapeString(p.Text))
			continue
		}
		seen[p.Term] = true
		b.WriteString(`<a class="term" href="` + l.page + "#" + html.EscapeString(termID(l.glossary[p.Term].Term)) + `">` + html.EscapeString(p.Text) + "</a>")
	}
	return b.String()
}
