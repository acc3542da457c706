// Package readability says how hard a text is to read, as a grade of school, by formulas
// that were published. It knows words and sentences, no music.
//
// Problem: a lesson is read by beginners, and each new sentence is a little longer than
// the last. Source: English: the Flesch-Kincaid grade level (Kincaid, Fishburne, Rogers,
// Chissom 1975: Derivation of new readability formulas for Navy enlisted personnel);
// German: the first Vienna formula for non-fiction (Bamberger, Vanecek 1984: Lesen,
// Verstehen, Lernen, Schreiben). The constants of both are from memory. What a sentence is
// follows Flesch (1948: A new readability yardstick): what ends at a full stop, colon,
// semicolon, question or exclamation mark. Cost: linear in the text. Rejected: a
// dictionary of syllables, which is larger than the program's words: vowels in a row are
// one syllable, with the exceptions of silent letters; a word in twenty is counted wrong,
// as often too long as too short, which a formula of averages bears.
package readability

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Count is what the formulas are made of.
type Count struct {
	Sentences, Words, Syllables int
	Long                        int // words of three syllables and more
	Wide                        int // words of more than six letters
	Short                       int // words of one syllable
}

// Of counts a text in a language, "en" or "de". What has no letter, a number or a sign, is
// no word; a chord symbol is one of one syllable.
func Of(language, text string) Count {
	var c Count
	open := false // words since the last end of a sentence
	for _, f := range strings.Fields(text) {
		for _, part := range strings.FieldsFunc(f, func(r rune) bool { return r == '–' || r == '-' || r == '/' }) {
			w := strings.TrimFunc(part, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
			if !strings.ContainsFunc(w, unicode.IsLetter) {
				continue
			}
			n := Syllables(language, w)
			c.Words++
			c.Syllables += n
			open = true
			if n >= 3 {
				c.Long++
			}
			if n == 1 {
				c.Short++
			}
			if utf8.RuneCountInString(w) > 6 {
				c.Wide++
			}
		}
		if strings.HasSuffix(strings.TrimRight(f, `”“"')`), ".") || strings.ContainsAny(f[len(f)-1:], ":;!?") {
			if open {
				c.Sentences++
			}
			open = false
		}
	}
	if open {
		c.Sentences++
	}
	return c
}

// Plus adds two counts.
func (c Count) Plus(d Count) Count {
	return Count{c.Sentences + d.Sentences, c.Words + d.Words, c.Syllables + d.Syllables, c.Long + d.Long, c.Wide + d.Wide, c.Short + d.Short}
}

// Grade is the year of school in which a text so counted can be read: 0 of nothing.
func (c Count) Grade(language string) float64 {
	if c.Words == 0 {
		return 0
	}
	words, length := float64(c.Words), float64(c.Words)/float64(max(1, c.Sentences))
	share := func(n int) float64 { return 100 * float64(n) / words }
	if language == "de" {
		return 0.1935*share(c.Long) + 0.1672*length + 0.1297*share(c.Wide) - 0.0327*share(c.Short) - 0.875
	}
	return 0.39*length + 11.8*float64(c.Syllables)/words - 15.59
}

// Syllables counts those of a word by its vowels, at least one.
func Syllables(language, word string) int {
	w := strings.ToLower(word)
	if strings.ContainsFunc(w, unicode.IsDigit) {
		return 1 // a symbol
	}
	vowels, n, in := "aeiouyäöüéà", 0, false
	for i, r := range w {
		v := strings.ContainsRune(vowels, r)
		switch {
		case v && in && language == "de" && !diphthong(w, i):
			n++ // "Triole", "Dominante": vowels side by side that are two
		case v && !in:
			n++
		}
		in = v
	}
	if language != "de" {
		n -= silent(w)
	}
	return max(1, n)
}

// diphthong tells whether a vowel makes one sound with the one before it, in German.
func diphthong(w string, i int) bool {
	before, _ := utf8.DecodeLastRuneInString(w[:i])
	r, _ := utf8.DecodeRuneInString(w[i:])
	return strings.Contains(" ei ai ey ay au eu äu ie aa ee oo ", " "+string(before)+string(r)+" ")
}

// silent is how many of the vowels in a row of an English word are not heard: an e at its
// end, but after a consonant and l; -ed but after t and d; -es but after a hiss.
func silent(w string) int {
	end := func(s string) bool { return strings.HasSuffix(w, s) }
	n := len(w)
	vowel := func(i int) bool { return i >= 0 && strings.ContainsRune("aeiouy", rune(w[i])) }
	switch {
	case n < 3:
	case end("e") && !end("le") && !vowel(n-2):
		return 1
	case end("le") && vowel(n-3):
		return 1
	case end("ed") && !end("ted") && !end("ded") && !vowel(n-3):
		return 1
	case end("es") && !vowel(n-3) && !end("ses") && !end("ces") && !end("ges") && !end("zes") && !end("shes") && !end("ches") && !end("xes") && !end("les"):
		return 1
	case end("les") && vowel(n-4):
		return 1
	}
	return 0
}
