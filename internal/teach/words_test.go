package teach_test

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/teach"
	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/theory"
)

var english = words.Must("en")

// What a lesson writes that is neither a term of the glossary, nor a name of a
// note, chord or numeral, nor a number, is an everyday word, and those are listed
// one by one: a trade word that enters a text without a definition fails here.
func TestEveryTradeWordIsDefined(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("testdata", "plain_words.txt"))
	if err != nil {
		t.Fatal(err)
	}
	plain := map[string]bool{}
	for _, w := range strings.Fields(string(data)) {
		plain[w] = true
	}
	glossary := teach.Glossary(english)
	missing := map[string]string{}
	said := map[string][]string{} // where → texts
	for _, name := range tunes {
		_, l := lessonOf(t, name)
		said[name] = teach.Texts(l)
	}
	for _, tech := range technique.All() {
		told := english.Technique(tech.ID)
		said[tech.ID] = append(append([]string{told.Name, told.What, told.How, told.Listen, told.Travel, tech.Stage.String()}, told.Practise...), append(told.Mistakes, told.Cautions...)...)
	}
	for _, g := range glossary {
		said["glossary"] = append(said["glossary"], g.Definition)
	}
	for where, texts := range said {
		for _, w := range teach.Unknown(glossary, strings.Join(texts, " 0 ")) {
			if !plain[w] && !sign(w) && missing[w] == "" {
				k := slices.IndexFunc(texts, func(s string) bool { return strings.Contains(strings.ToLower(s), w) })
				missing[w] = where + ": " + texts[max(k, 0)]
			}
		}
	}
	var words []string
	for w := range missing {
		words = append(words, w)
	}
	slices.Sort(words)
	for _, w := range words {
		t.Errorf("%q is in neither the glossary nor the list of plain words (%s)", w, missing[w])
	}
	for _, w := range strings.Fields(string(data)) {
		if !slices.Contains(teach.Unknown(glossary, w), w) {
			t.Errorf("%q is a term and a plain word", w)
		}
	}
}

var numeral = regexp.MustCompile(`^(sub)?[♭♯]?(vii|vi|iv|v|iii|ii|i)(°|ø|maj|m|dim|aug|sus|add)?[0-9/♭♯a-z]*(/[♭♯]?[iv]+)?$`)
var number = regexp.MustCompile(`^[♭♯]*[0-9]+(st|nd|rd|th)?([-–/+½][0-9]+)*½?$`)
var span = regexp.MustCompile(`^([0-9/–.+½-]+|[1-9]-and|m1?[0-9])$`)

// sign tells whether a word is the name of a note, a chord, a numeral or a number.
func sign(w string) bool {
	if numeral.MatchString(w) || number.MatchString(w) || span.MatchString(w) {
		return true
	}
	w = strings.ReplaceAll(strings.ReplaceAll(w, "♭", "b"), "♯", "#")
	if _, err := theory.ParsePitch(strings.ToUpper(w[:1]) + w[1:]); err == nil {
		return true
	}
	_, err := theory.ParseSymbol(strings.ToUpper(w[:1]) + w[1:])
	return err == nil
}

func TestGlossary(t *testing.T) {
	forms := map[string]string{}
	for _, g := range teach.Glossary(english) {
		if g.Definition == "" || !strings.HasSuffix(g.Definition, ".") {
			t.Errorf("%s has no definition: %q", g.Term, g.Definition)
		}
		if len(strings.Fields(g.Definition)) > 30 {
			t.Errorf("%s takes %d words", g.Term, len(strings.Fields(g.Definition)))
		}
		if other, ok := forms[strings.ToLower(g.Term)]; ok {
			t.Errorf("%s is there twice: %s", g.Term, other)
		}
		forms[strings.ToLower(g.Term)] = g.Definition
	}
	for _, tech := range technique.All() {
		if name := english.Technique(tech.ID).Name; forms[strings.ToLower(name)] == "" {
			t.Errorf("the glossary lacks %s", name)
		}
	}
	// The longest form wins.
	g := teach.Glossary(english)
	var got []string
	for _, i := range teach.Find(g, "Guide tones under a half-diminished chord") {
		got = append(got, g[i].Term)
	}
	if strings.Join(got, ", ") != "chord, guide tone, half-diminished" {
		t.Errorf("found %v", got)
	}
}

// The lesson's own glossary holds what its words use, and no more than the words
// and their definitions need.
func TestLessonGlossary(t *testing.T) {
	_, l := lessonOf(t, "ferry")
	have := map[string]bool{}
	for _, g := range l.Glossary {
		have[g.Term] = true
	}
	for _, want := range []string{"compound time", "triad", "tonic", "authentic cadence", "flowing arpeggio"} {
		if !have[want] {
			t.Errorf("the glossary of a tune in 6/8 lacks %s", want)
		}
	}
	for _, term := range []string{"shuffle", "walking bass"} {
		if have[term] && !strings.Contains(strings.ToLower(strings.Join(teach.Texts(l), " ")), term) {
			t.Errorf("%s is explained, which the lesson does not use", term)
		}
	}
}

// TestPieces: the pieces of a text are the text, and have the terms that it uses.
func TestPieces(t *testing.T) {
	glossary := teach.Glossary(english)
	for _, tech := range technique.All() {
		told := english.Technique(tech.ID)
		for _, s := range []string{told.What, told.How, told.Listen, "“" + told.Name + "’s” (" + told.What + ")"} {
			whole, found := "", map[int]bool{}
			for _, p := range teach.Index(glossary).Pieces(s) {
				whole += p.Text
				if p.Term >= 0 {
					found[p.Term] = true
				}
			}
			if whole != s {
				t.Errorf("%q became %q", s, whole)
			}
			if want := teach.Find(glossary, s); len(want) != len(found) || slices.ContainsFunc(want, func(i int) bool { return !found[i] }) {
				t.Errorf("%q has the terms %v, its pieces %v", s, want, found)
			}
		}
	}
	var got []string
	for _, p := range teach.Index(glossary).Pieces("The Chord’s root: hold it.") {
		if p.Term >= 0 {
			got = append(got, p.Text)
		}
	}
	if strings.Join(got, "|") != "Chord|root" {
		t.Errorf("terms %q", got)
	}
}
