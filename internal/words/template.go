package words

import (
	"fmt"
	"strings"
)

// template is a text with gaps: "{Note} is the {Degree.short} of {Chord}". A gap
// names a part and, after a point, the form in which the part's word is wanted.
type template []piece

// piece is a text, or a gap where name is set.
type piece struct{ text, name, form string }

func parseTemplate(s string) (template, error) {
	var t template
	for s != "" {
		text, rest, gap := strings.Cut(s, "{")
		if strings.Contains(text, "}") {
			return nil, fmt.Errorf("%q has a } without a {", s)
		}
		if text != "" {
			t = append(t, piece{text: text})
		}
		if !gap {
			break
		}
		inside, after, closed := strings.Cut(rest, "}")
		name, form, _ := strings.Cut(inside, ".")
		if !closed || name == "" || strings.ContainsAny(inside, "{ ") {
			return nil, fmt.Errorf("%q has a gap without a name", s)
		}
		t = append(t, piece{name: name, form: form})
		s = after
	}
	return t, nil
}

// String writes the template as parseTemplate reads it.
func (t template) String() string {
	var b strings.Builder
	for _, p := range t {
		switch {
		case p.name == "":
			b.WriteString(p.text)
		case p.form == "":
			b.WriteString("{" + p.name + "}")
		default:
			b.WriteString("{" + p.name + "." + p.form + "}")
		}
	}
	return b.String()
}

// names lists the parts that a template asks for.
func (t template) names() []string {
	var out []string
	for _, p := range t {
		if p.name != "" {
			out = append(out, p.name)
		}
	}
	return out
}
