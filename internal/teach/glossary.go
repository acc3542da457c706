package teach

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"gradatim/internal/technique"
	"gradatim/internal/words"
)

// Term is an entry of the glossary.
type Term struct {
	Term       string `json:"term"`
	Definition string `json:"definition"`

	forms []string // lower case, the term itself first
}

// Glossary returns all terms by their alphabet: those of the language, and each
// technique under its name with its own sentence.
func Glossary(w *words.Words) []Term {
	var out []Term
	have := map[string]bool{}
	for _, t := range w.Terms() {
		forms := []string{strings.ToLower(t.Term)}
		for _, f := range t.Forms {
			forms = append(forms, strings.ToLower(f))
		}
		have[forms[0]] = true
		out = append(out, Term{Term: t.Term, Definition: sentence(t.Definition), forms: forms})
	}
	for _, t := range technique.All() {
		told := w.Technique(t.ID)
		if name := strings.ToLower(told.Name); !have[name] {
			out = append(out, Term{Term: told.Name, Definition: told.What, forms: []string{name}})
		}
	}
	order := w.Alphabet()
	slices.SortStableFunc(out, func(a, b Term) int { return order(a.Term, b.Term) })
	return out
}

// Find returns the terms that a text uses, as indexes into a glossary, ascending.
// Of overlapping forms the longest counts: “guide tone” is not also “tone”.
func Find(glossary []Term, text string) []int {
	ix := Index(glossary)
	found := map[int]bool{}
	ix.walk(text, func(term int) { found[term] = true }, func(string) {})
	var out []int
	for i := range glossary {
		if found[i] {
			out = append(out, i)
		}
	}
	return out
}

// Unknown lists the words of a text that belong to no term, in order, in lower
// case.
func Unknown(glossary []Term, text string) []string {
	var out []string
	Index(glossary).walk(text, func(int) {}, func(w string) { out = append(out, w) })
	return out
}

// Forms is an index of a glossary by the first word of each form, longest form
// first.
type Forms map[string][]form

type form struct {
	words []string
	term  int
}

// Index makes one.
func Index(glossary []Term) Forms {
	ix := Forms{}
	for i, t := range glossary {
		for _, f := range t.forms {
			ws := splitWords(f)
			if len(ws) > 0 {
				ix[ws[0]] = append(ix[ws[0]], form{ws, i})
			}
		}
	}
	for k := range ix {
		slices.SortStableFunc(ix[k], func(a, b form) int { return len(b.words) - len(a.words) })
	}
	return ix
}

// Piece is a stretch of a text. Term is the index of the term that it is one form of; -1:
// it is none.
type Piece struct {
	Text string
	Term int
}

// Pieces cuts a text at the terms of the glossary; together they are the text. Of
// overlapping forms the longest counts, and a sign that closes a word stays outside.
func (ix Forms) Pieces(text string) []Piece {
	ws := placedWords(text)
	var out []Piece
	from := 0
	add := func(to, term int) {
		if to > from {
			out = append(out, Piece{text[from:to], term})
			from = to
		}
	}
next:
	for i := 0; i < len(ws); {
		for _, f := range ix[ws[i].text] {
			if i+len(f.words) <= len(ws) && slices.EqualFunc(ws[i:i+len(f.words)], f.words, func(w placedWord, s string) bool { return w.text == s }) {
				add(ws[i].from, -1)
				i += len(f.words)
				add(ws[i-1].to, f.term)
				continue next
			}
		}
		i++
	}
	add(len(text), -1)
	return out
}

// walk goes through a text by words and calls term for each form that it meets and
// other for each word between.
func (ix Forms) walk(text string, term func(int), other func(string)) {
	ws := splitWords(text)
next:
	for i := 0; i < len(ws); {
		for _, f := range ix[ws[i]] {
			if i+len(f.words) <= len(ws) && slices.Equal(ws[i:i+len(f.words)], f.words) {
				term(f.term)
				i += len(f.words)
				continue next
			}
		}
		other(ws[i])
		i++
	}
}

// placedWord is a word in lower case with its place in the text, in bytes.
type placedWord struct {
	text     string
	from, to int
}

// placedWords cuts a text into words; hyphens and signs of music inside a word belong to
// it, a genitive does not.
func placedWords(text string) []placedWord {
	inside := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("-'’♭♯/+°ø½", r)
	}
	var out []placedWord
	for at := 0; at < len(text); {
		from := strings.IndexFunc(text[at:], inside)
		if from < 0 {
			break
		}
		from += at
		w := text[from:]
		if end := strings.IndexFunc(w, func(r rune) bool { return !inside(r) }); end >= 0 {
			w = w[:end]
		}
		at = from + len(w)
		w = strings.TrimSuffix(strings.TrimSuffix(w, "'s"), "’s")
		cut := strings.TrimLeft(w, "-'’/+")
		from += len(w) - len(cut)
		if cut = strings.TrimRight(cut, "-'’/+"); cut != "" {
			out = append(out, placedWord{strings.ToLower(cut), from, from + len(cut)})
		}
	}
	return out
}

// splitWords cuts a text into words in lower case.
func splitWords(text string) []string {
	var out []string
	for _, w := range placedWords(text) {
		out = append(out, w.text)
	}
	return out
}

// glossaryFor picks the terms that a lesson's words use, and those that their
// definitions use in turn.
func glossaryFor(w *words.Words, l Lesson) []Term {
	all := Glossary(w)
	ix := Index(all)
	used := make([]bool, len(all))
	var todo []int
	mark := func(i int) {
		if !used[i] {
			used[i] = true
			todo = append(todo, i)
		}
	}
	for _, s := range Texts(l) {
		ix.walk(s, mark, func(string) {})
	}
	for len(todo) > 0 {
		i := todo[0]
		todo = todo[1:]
		ix.walk(all[i].Definition, mark, func(string) {})
		if ws := splitWords(all[i].Term); len(ws) > 1 { // and the terms that its name is made of
			ix.walk(strings.Join(ws[1:], " "), mark, func(string) {})
			ix.walk(strings.Join(ws[:len(ws)-1], " "), mark, func(string) {})
		}
	}
	out := []Term{}
	for i, t := range all {
		if used[i] {
			out = append(out, t)
		}
	}
	return out
}

// Texts lists every string of a lesson that a reader meets, the music and the
// names left out that are given: title, composers, ids, file names.
func Texts(l Lesson) []string {
	var out []string
	for _, v := range l.Levels {
		texts(reflect.ValueOf(v), &out)
	}
	texts(reflect.ValueOf(l.Cautions), &out)
	return out
}

// ids are fields that hold names of things, not words for a reader.
var ids = []string{"Technique", "For", "Notes", "Music", "Before", "After", "Chord", "Score"}

func texts(v reflect.Value, out *[]string) {
	switch v.Kind() {
	case reflect.String:
		if s := v.String(); utf8.RuneCountInString(s) > 1 {
			*out = append(*out, s)
		}
	case reflect.Slice:
		for i := range v.Len() {
			texts(v.Index(i), out)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() && !slices.Contains(ids, f.Name) {
				texts(v.Field(i), out)
			}
		}
	}
}

var _ json.Marshaler = Music{}
