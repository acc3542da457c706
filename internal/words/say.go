package words

import (
	"fmt"
	"reflect"
	"strings"
	"unicode"

	"golang.org/x/text/feature/plural"

	"gradatim/reason"
)

// Message is something to be said, by who does not say it: a key and the parts of the
// message, names and values by turns. It is a value like any other part.
type Message struct {
	Key   string
	Parts []any
}

// Tell makes a Message.
func Tell(key string, namesAndValues ...any) Message { return Message{key, namesAndValues} }

// part is one part of what is to be said.
type part struct {
	name  string
	value any
}

// Say returns a message with its parts: names and values by turns. A message that
// has forms by number is chosen by the part "n". What there is no message for is
// answered with its key in guillemets; the tests see to it that there is none.
func (w *Words) Say(key string, namesAndValues ...any) string {
	parts := make([]part, 0, 4)
	for i := 0; i+1 < len(namesAndValues); i += 2 {
		parts = append(parts, part{namesAndValues[i].(string), namesAndValues[i+1]})
	}
	return w.say(key, parts)
}

// Form says a message in one of the forms that it has, else in its full one.
func (w *Words) Form(key, form string, namesAndValues ...any) string {
	return w.inForm(key, form, namesAndValues...)
}

// Text returns a message with its gaps as they stand in the file, for who fills them
// later.
func (w *Words) Text(key string) string {
	t, ok := w.find(key, nil)
	if !ok {
		return "‹" + key + "›"
	}
	return t.String()
}

// Has tells whether there is a message.
func (w *Words) Has(key string) bool {
	_, ok := w.find(key, nil)
	return ok
}

// Lines returns the messages of a list, in order.
func (w *Words) Lines(key string) []string {
	var out []string
	for i := 0; ; i++ {
		t, ok := w.messages[fmt.Sprintf("%s.%d", key, i)]
		if !ok {
			return out
		}
		out = append(out, w.fill(t, nil))
	}
}

func (w *Words) say(key string, parts []part) string {
	t, ok := w.find(key, parts)
	if !ok {
		return "‹" + key + "›"
	}
	return w.fill(t, parts)
}

// find returns a message, of one with forms by number that of the part "n".
func (w *Words) find(key string, parts []part) (template, bool) {
	if t, ok := w.messages[key]; ok {
		return t, true
	}
	for _, p := range parts {
		n, ok := p.value.(int)
		if !ok || !strings.EqualFold(p.name, "n") {
			continue
		}
		if t, ok := w.messages[key+"."+w.number(n)]; ok {
			return t, true
		}
	}
	t, ok := w.messages[key+".other"]
	return t, ok
}

// number names the grammatical number that the language has for so many things.
func (w *Words) number(n int) string {
	forms := [...]string{plural.Zero: "zero", plural.One: "one", plural.Two: "two", plural.Few: "few", plural.Many: "many", plural.Other: "other"}
	return forms[plural.Cardinal.MatchPlural(w.tag, max(n, -n), 0, 0, 0, 0)]
}

func (w *Words) fill(t template, parts []part) string {
	if len(t) == 1 && t[0].name == "" {
		return t[0].text
	}
	var b strings.Builder
	for _, p := range t {
		if p.name == "" {
			b.WriteString(p.text)
			continue
		}
		b.WriteString(w.part(p, parts))
	}
	return b.String()
}

func (w *Words) part(p piece, parts []part) string {
	for _, x := range parts {
		if x.name == p.name {
			return w.value(x.value, p.form)
		}
	}
	return "‹" + p.name + "›"
}

// Reason says a reason as a clause; none is "".
func (w *Words) Reason(r reason.Reason) string {
	switch r := r.(type) {
	case nil:
		return ""
	case reason.Fact:
		return w.say("fact."+string(r), nil)
	case reason.Figure:
		return w.say(figure(r), nil)
	case reason.Then:
		return w.say(figure(r.Figure), []part{{"Next", r.Next}})
	case reason.Approach:
		return w.say("reason.Approach."+string(r.From), []part{{"Goal", r.Goal}})
	}
	v := reflect.ValueOf(r)
	t := v.Type()
	parts := make([]part, 0, 4)
	for i := range t.NumField() {
		if f := t.Field(i); f.IsExported() {
			parts = append(parts, part{f.Name, v.Field(i).Interface()})
		}
	}
	return w.say("reason."+t.Name(), parts)
}

// figure is the key of what a hand plays: each technique keeps its own.
func figure(f reason.Figure) string {
	id, form, _ := strings.Cut(string(f), ".")
	if form == "" {
		form = "plain"
	}
	return "technique." + id + ".figure." + form
}

// Upper writes the first letter of a text as a capital.
func Upper(s string) string {
	for i, r := range s {
		return string(unicode.ToUpper(r)) + s[i+len(string(r)):]
	}
	return s
}
