package idiom

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/reason"
)

// Guess says which kind of tune a sheet holds.
type Guess struct {
	Idiom   Idiom
	Second  Idiom
	Sure    bool // the first leads by enough
	Reasons []Evidence
}

// Evidence is what speaks for the kind that was guessed: a fact, or a word of the
// sheet's own.
type Evidence struct {
	Fact   Fact   // 0 where it is a word
	Word   string // "hornpipe"
	Title  bool   // the word stands in the title
	Weight int
}

// Why is the evidence as a reason.
func (e Evidence) Why() reason.Reason {
	switch {
	case e.Title:
		return reason.TitleSays{Word: e.Word}
	case e.Word != "":
		return reason.SheetCalls{Name: e.Word}
	}
	return reason.Fact("tune-" + e.Fact.String())
}

const (
	named  = 30 // the sheet itself names the kind
	titled = 8  // its title does
	margin = 2  // by how much a sure guess leads
)

// Recognise weighs what stands on a sheet for every kind.
//
// Problem: which kind of tune is this? Objective: the greatest sum of the weights
// that a kind's file gives to the facts of the sheet, and to the words by which
// sheets name it; of equal sums the first id. Cost: kinds × facts. Rejected: a
// classifier learnt from labelled sheets, which has no reason that a teacher could
// read, and a rule for each kind, in which the order of the rules decides.
func Recognise(song leadsheet.Song, an harmony.Analysis, kinds []Idiom) Guess {
	fs := FactsOf(song, an)
	type score struct {
		at, sum int
	}
	var scores []score
	for i := range kinds {
		sum := 0
		for _, e := range kinds[i].evidence(song, fs) {
			sum += e.Weight
		}
		scores = append(scores, score{i, sum})
	}
	if len(scores) == 0 {
		return Guess{}
	}
	slices.SortStableFunc(scores, func(a, b score) int { return cmp.Compare(b.sum, a.sum) })
	g := Guess{Idiom: kinds[scores[0].at], Sure: true}
	if len(scores) > 1 {
		g.Second = kinds[scores[1].at]
		g.Sure = scores[0].sum >= scores[1].sum+margin
	}
	for _, e := range g.Idiom.evidence(song, fs) {
		if e.Weight > 0 {
			g.Reasons = append(g.Reasons, e)
		}
	}
	slices.SortStableFunc(g.Reasons, func(a, b Evidence) int {
		return cmp.Or(cmp.Compare(b.Weight, a.Weight), cmp.Compare(a.Fact, b.Fact))
	})
	return g
}

// evidence lists what a sheet has for a kind and against it.
func (k Idiom) evidence(song leadsheet.Song, fs Facts) []Evidence {
	var out []Evidence
	if w, ok := wordOf(song.Rhythm, k.words); ok {
		out = append(out, Evidence{Word: w, Weight: named})
	}
	if w, ok := wordOf(song.Title, k.title); ok {
		out = append(out, Evidence{Word: w, Title: true, Weight: titled})
	}
	for f := Fact(1); f < lastFact; f++ {
		if fs.Has(f) && k.weights[f] != 0 {
			out = append(out, Evidence{Fact: f, Weight: int(k.weights[f])})
		}
	}
	return out
}

// wordOf finds the first of the words that stands in a text, as a word or several,
// whole.
func wordOf(text string, words []string) (string, bool) {
	plain := func(s string) string {
		return " " + strings.Join(strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) }), " ") + " "
	}
	t := plain(text)
	for _, w := range words {
		if strings.Contains(t, plain(w)) {
			return w, true
		}
	}
	return "", false
}
