package words

import (
	"maps"
	"slices"
	"strings"

	"golang.org/x/text/collate"
)

// Term is a trade word with its other forms and its definition.
type Term struct {
	Term       string
	Forms      []string
	Definition string
}

// Terms returns the trade words, in the order of their keys.
func (w *Words) Terms() []Term {
	ids := map[string]bool{}
	for key := range w.messages {
		if rest, ok := strings.CutPrefix(key, "glossary."); ok {
			id, _, _ := strings.Cut(rest, ".")
			ids[id] = true
		}
	}
	var out []Term
	for _, id := range slices.Sorted(maps.Keys(ids)) {
		key := "glossary." + id
		out = append(out, Term{w.Say(key + ".term"), w.Lines(key + ".forms"), w.Say(key + ".definition")})
	}
	return out
}

// Alphabet returns the order of the language's dictionaries.
func (w *Words) Alphabet() func(a, b string) int {
	return collate.New(w.tag, collate.IgnoreCase).CompareString
}
