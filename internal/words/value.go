package words

import (
	"fmt"
	"strconv"
	"strings"

	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// value says one part in the form that is asked for. Chord symbols and numerals
// are the same in every language: they stand on the page.
func (w *Words) value(v any, form string) string {
	switch v := v.(type) {
	case string:
		return v
	case int:
		return strconv.Itoa(v)
	case theory.Name:
		return w.Name(v)
	case theory.Chord:
		return v.Pretty()
	case theory.Degree:
		if form == "symbol" {
			return v.Pretty()
		}
		return w.Word("degree", v.String(), form, v.Pretty())
	case theory.Numeral:
		return v.Pretty()
	case theory.Mode:
		return w.Word("mode", v.String(), form, v.String())
	case theory.Key:
		return w.Key(v)
	case leadsheet.Meter:
		return v.String()
	case leadsheet.Feel:
		return w.Word("feel", v.String(), form, v.String())
	case reason.Technique:
		if name := w.Say("technique." + string(v) + ".name"); form != "title" {
			return name
		} else {
			return Upper(name)
		}
	case reason.Signature:
		if v < 0 {
			return w.Say("signature.flats", "n", int(-v))
		}
		return w.Say("signature.sharps", "n", int(v))
	case reason.Role:
		return w.Word("role", string(v), form, string(v))
	case reason.Reason:
		return w.Reason(v)
	case nil:
		return ""
	}
	panic(fmt.Sprintf("words: no way to say a %T", v))
}

// Word returns a word of the vocabulary in a form. A word that has not the form has
// its full one, and one without forms is the same in all. otherwise is for what the
// language has no word of its own.
func (w *Words) Word(of, id, form, otherwise string) string {
	key := of + "." + id
	for _, k := range [...]string{key + "." + form, key + ".full", key} {
		if t, ok := w.messages[k]; ok {
			return w.fill(t, nil)
		}
	}
	return otherwise
}

// Name says the name of a note: "B♭" in English is "B" in German.
func (w *Words) Name(n theory.Name) string {
	s := n.Pretty()
	if t, ok := w.messages["note."+s]; ok {
		return w.fill(t, nil)
	}
	return s
}

// Key says a key: "F major", "d-Moll".
func (w *Words) Key(k theory.Key) string {
	if !k.Valid() {
		return w.Say("key.none")
	}
	return w.Say("key."+k.Mode.String(), "Tonic", k.Tonic)
}

// List joins words: "C", "C and E", "C, E and G".
func (w *Words) List(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return w.Say("list.and", "before", strings.Join(words[:n-1], ", "), "last", words[n-1])
	}
}
