package readability_test

import (
	"fmt"
	"math"
	"testing"

	"gradatim/internal/readability"
)

// Syllables as dictionaries divide the words (from memory, no source at hand).
func TestSyllables(t *testing.T) {
	for language, words := range map[string]map[string]int{
		"en": {"note": 1, "notes": 1, "thumb": 1, "played": 1, "added": 2, "little": 2, "finger": 2, "table": 2, "scale": 1, "scales": 1, "pieces": 2,
			"melody": 3, "syncopation": 4, "dominant": 3, "together": 3, "leaves": 1, "changes": 2, "joined": 1, "rule": 1, "handles": 2, "F9": 1, "I": 1},
		"de": {"Ton": 1, "Töne": 2, "Akkord": 2, "Dreiklang": 2, "Triole": 3, "spielen": 2, "Umkehrung": 3, "Dominante": 4, "leise": 2, "Bass": 1, "Bau": 1, "Theorie": 3},
	} {
		for w, want := range words {
			if got := readability.Syllables(language, w); got != want {
				t.Errorf("%s: %d syllables, want %d", w, got, want)
			}
		}
	}
}

// A sentence counted by hand: 6 words, 6 syllables, 1 sentence; the grade by the formula
// as published: 0.39·6 + 11.8·1 − 15.59.
func TestGrade(t *testing.T) {
	c := readability.Of("en", "The cat sat on the mat.")
	if c.Words != 6 || c.Sentences != 1 || c.Syllables != 6 {
		t.Fatalf("%+v", c)
	}
	if g := c.Grade("en"); math.Abs(g+1.45) > 1e-9 {
		t.Errorf("grade %v", g)
	}
	longer := readability.Of("en", "Syncopation anticipates fundamental rhythmical organisation throughout contemporary accompaniments.")
	if longer.Grade("en") < 20 {
		t.Errorf("grade %v", longer.Grade("en"))
	}
	// Two sentences of five words, by hand: no long words, two of more than six letters,
	// six of one syllable: 0.1672·5 + 0.1297·20 − 0.0327·60 − 0.875.
	d := readability.Of("de", "Die Katze lag im Zimmer. Der Teppich war zu weichlich.")
	if d != (readability.Count{Sentences: 2, Words: 10, Syllables: 14, Wide: 2, Short: 6}) {
		t.Fatalf("%+v", d)
	}
	if g := d.Grade("de"); math.Abs(g-(0.1672*5+0.1297*20-0.0327*60-0.875)) > 1e-9 {
		t.Errorf("grade %v", g)
	}
}

func ExampleOf() {
	c := readability.Of("en", "Hold the low note; the tune goes on: 1 and 2.")
	fmt.Println(c.Sentences, c.Words)
	// Output: 3 9
}
