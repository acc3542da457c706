package scoretest

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// Sheet makes a lead sheet in ABC notation as somebody might write one: a tune of two to
// six phrases in any key, mode and metre, moving mostly by step, with chords of every kind
// (seventh, altered, with a bass of its own, none), graces, tuplets, ties, rests, pick-up,
// repeats and endings. It is right by the rules of the notation (ABC 2.1) and need not be
// beautiful. The same state of rng gives the same sheet.
func Sheet(rng *rand.Rand) []byte {
	w := &sheetWriter{rng: rng, at: 7}
	m := pick(rng, sheetMetres)
	w.beats = m.beats
	fmt.Fprintf(&w.b, "X:1\nT:Tune %d\nM:%s\nL:1/16\nQ:1/4=%d\nK:%s%s\n", rng.IntN(1000), m.name, 50+rng.IntN(110), pick(rng, sheetTonics), pick(rng, sheetModes))
	if rng.IntN(3) == 0 {
		w.beat(w.beats[len(w.beats)-1])
		w.b.WriteString("|")
	}
	for range 2 + rng.IntN(3) {
		w.phrase(rng.IntN(3) == 0)
	}
	w.b.WriteString("\"" + w.chord() + "\"" + w.pitch() + length(sum(w.beats)) + "|]\n")
	return []byte(w.b.String())
}

var (
	sheetTonics = []string{"C", "G", "D", "A", "E", "B", "F#", "Gb", "Db", "Ab", "Eb", "Bb", "F"}
	sheetModes  = []string{"", "", "", "m", "m", "dor", "mix", "lyd", "phr"}
	// Beats are in sixteenths.
	sheetMetres = []struct {
		name  string
		beats []int
	}{
		{"4/4", []int{4, 4, 4, 4}}, {"3/4", []int{4, 4, 4}}, {"2/4", []int{4, 4}}, {"6/8", []int{6, 6}}, {"9/8", []int{6, 6, 6}}, {"12/8", []int{6, 6, 6, 6}},
		{"2/2", []int{8, 8}}, {"3/2", []int{8, 8, 8}}, {"5/4", []int{4, 4, 4, 4, 4}}, {"7/8", []int{4, 4, 6}}, {"C|", []int{8, 8}}, {"6/4", []int{12, 12}},
	}
	sheetKinds = []string{"", "", "", "m", "m", "7", "7", "m7", "maj7", "6", "m6", "dim", "dim7", "m7b5", "aug", "sus4", "7sus4", "9", "m9", "maj9", "11", "13",
		"7b9", "7#9", "7#11", "7b13", "add9", "6/9", "mMaj7", "5", "7alt", "sus2"}
	sheetRoots = []string{"C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F"} // up by fifths
	sheetNotes = strings.Fields("A, B, C D E F G A B c d e f g a b c' d'")
)

type sheetWriter struct {
	rng   *rand.Rand
	b     strings.Builder
	beats []int
	at    int // index in sheetNotes
	root  int // index in sheetRoots
	tied  string
}

func pick[T any](rng *rand.Rand, from []T) T { return from[rng.IntN(len(from))] }

func sum(beats []int) int {
	n := 0
	for _, b := range beats {
		n += b
	}
	return n
}

func length(n int) string {
	if n == 1 {
		return ""
	}
	return fmt.Sprint(n)
}

// chord moves on, down a fifth more often than not.
func (w *sheetWriter) chord() string {
	if w.rng.IntN(5) > 1 {
		w.root = (w.root + 11) % 12
	} else {
		w.root = w.rng.IntN(12)
	}
	name := sheetRoots[w.root] + pick(w.rng, sheetKinds)
	switch w.rng.IntN(12) {
	case 0:
		return name + "/" + sheetRoots[(w.root+4)%12] // its third
	case 1:
		return name + "/" + pick(w.rng, sheetRoots)
	case 2:
		if w.rng.IntN(4) == 0 {
			return "N.C."
		}
	}
	return name
}

// pitch moves on, by step more often than not.
func (w *sheetWriter) pitch() string {
	step := pick(w.rng, []int{-1, -1, -1, 0, 1, 1, 1, -2, 2, -3, 4, -5, 7})
	w.at = min(max(w.at+step, 0), len(sheetNotes)-1)
	if w.at < 2 || w.at > len(sheetNotes)-3 {
		w.at = 4 + w.rng.IntN(8)
	}
	sign := ""
	switch w.rng.IntN(25) {
	case 0:
		sign = "^"
	case 1:
		sign = "_"
	case 2:
		sign = "="
	}
	return sign + sheetNotes[w.at]
}

// beat writes notes that fill so many sixteenths.
func (w *sheetWriter) beat(n int) {
	if w.rng.IntN(30) == 0 {
		w.b.WriteString("{" + w.pitch() + "}")
	}
	switch k := w.rng.IntN(20); {
	case k == 0:
		w.b.WriteString("z" + length(n))
	case k == 1 && n == 4:
		w.b.WriteString("(3" + w.pitch() + "2" + w.pitch() + "2" + w.pitch() + "2")
	case k == 2 && n == 6:
		w.b.WriteString("(2" + w.pitch() + "2" + w.pitch() + "2")
	case k == 3 && n == 8:
		w.b.WriteString("(3" + w.pitch() + "4" + w.pitch() + "4" + w.pitch() + "4")
	case k == 4 && n == 4:
		w.b.WriteString(w.pitch() + "3" + w.pitch())
	case k < 9 || n <= 2:
		w.b.WriteString(w.pitch() + length(n))
	case n == 6:
		w.b.WriteString(w.pitch() + "2" + w.pitch() + "2" + w.pitch() + "2")
	default:
		w.b.WriteString(w.pitch() + length(n/2) + w.pitch() + length(n-n/2))
	}
	w.b.WriteString(" ")
}

// bar writes one bar. Its last note may be tied to the first of the next, if there is
// one in the same phrase.
func (w *sheetWriter) bar(last bool) {
	for i, n := range w.beats {
		if i == 0 || w.rng.IntN(6) == 0 {
			w.b.WriteString("\"" + w.chord() + "\"")
		}
		switch {
		case i == 0 && w.tied != "":
			w.b.WriteString(w.tied + length(n) + " ")
			w.tied = ""
		case i == 0 && w.rng.IntN(8) == 0:
			w.b.WriteString(w.plain() + length(sum(w.beats)) + " ")
			return
		case i == len(w.beats)-1 && !last && w.rng.IntN(8) == 0:
			w.tied = w.plain()
			w.b.WriteString(w.tied + length(n) + "-")
		default:
			w.beat(n)
		}
	}
}

// plain is a pitch without a sign of its own.
func (w *sheetWriter) plain() string { return strings.TrimLeft(w.pitch(), "^_=") }

// phrase writes two or four bars, once, repeated, or repeated with two endings.
func (w *sheetWriter) phrase(repeated bool) {
	bars := pick(w.rng, []int{2, 4, 4})
	if repeated {
		w.b.WriteString("|:")
	}
	for i := range bars {
		w.bar(i == bars-1)
		w.b.WriteString("|")
	}
	if repeated && w.rng.IntN(2) == 0 {
		w.b.WriteString("1 ")
		w.bar(true)
		w.b.WriteString(":|2 ")
		w.bar(true)
		w.b.WriteString("||")
	} else if repeated {
		s := strings.TrimSuffix(w.b.String(), "|")
		w.b.Reset()
		w.b.WriteString(s + ":|")
	}
	w.b.WriteString("\n")
}
