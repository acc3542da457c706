package theory

import (
	"slices"
	"testing"
)

func chord(t testing.TB, symbol string) Chord {
	t.Helper()
	s, err := ParseSymbol(symbol)
	if err != nil {
		t.Fatal(err)
	}
	return s.Chord
}

func key(t testing.TB, name string) Key {
	t.Helper()
	k, err := ParseKey(name)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func name(t testing.TB, s string) Name {
	t.Helper()
	n, err := ParseName(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// pitchClasses are what sounds, sorted.
func pitchClasses(c Chord) []int {
	var out []int
	for class := range 12 {
		if c.HasClass(class) {
			out = append(out, class)
		}
	}
	return out
}

// Roots, thirds, fifths and sevenths of chords: by definition, as in any primer.
func TestChordParts(t *testing.T) {
	for _, tt := range []struct {
		symbol, third, fifth, seventh, triad string
		dominant, minor, diminished          bool
	}{
		{"C", "3", "5", "", "C", false, false, false},
		{"Cm7", "b3", "5", "b7", "Cm", false, true, false},
		{"C7", "3", "5", "b7", "C", true, false, false},
		{"C7sus4", "4", "5", "b7", "Csus4", true, false, false},
		{"Cm7b5", "b3", "b5", "b7", "Cdim", false, true, true},
		{"Cdim7", "b3", "b5", "bb7", "Cdim", false, true, true},
		{"Cmaj7(#5)", "3", "#5", "7", "Caug", false, false, false},
		{"C6/9", "3", "5", "6", "C", false, false, false},
		{"C5", "", "5", "", "C5", false, false, false},
		{"C7alt", "3", "", "b7", "Caug", true, false, false},
		{"Csus2", "2", "5", "", "Csus2", false, false, false},
		{"C/E", "3", "5", "", "C", false, false, false},
		{"D over C7", "3", "5", "b7", "C", true, false, false},
	} {
		c := chord(t, tt.symbol)
		show := func(d Degree, ok bool) string {
			if !ok {
				return ""
			}
			return d.String()
		}
		if got := show(c.Third()); got != tt.third {
			t.Errorf("%s: third %q", c, got)
		}
		if got := show(c.Fifth()); got != tt.fifth {
			t.Errorf("%s: fifth %q", c, got)
		}
		if got := show(c.Seventh()); got != tt.seventh {
			t.Errorf("%s: seventh %q", c, got)
		}
		if got := c.Triad().String(); got != tt.triad {
			t.Errorf("%s: triad %s", c, got)
		}
		if c.Dominant() != tt.dominant || c.MinorThird() != tt.minor || c.Diminished() != tt.diminished {
			t.Errorf("%s: dominant %v, minor third %v, diminished %v", c, c.Dominant(), c.MinorThird(), c.Diminished())
		}
	}
	var none Chord
	if !none.Silent() || none.Triad() != none || none.Transpose(Interval{2, 4}) != none || none.HasClass(0) || none.Suffix() != "" {
		t.Error("the zero chord is no chord")
	}
	if c := chord(t, "C/E"); c.Lowest() != (Name{E, 0}) || chord(t, "C").Lowest() != (Name{C, 0}) {
		t.Error("lowest note")
	}
}

func TestChordDegree(t *testing.T) {
	for _, tt := range []struct{ symbol, name, degree string }{
		{"C7", "Bb", "b7"}, {"C7", "A#", "b7"}, {"C7(#9)", "Eb", "#9"}, {"C7(#9)", "E", "3"}, {"F#m", "A", "b3"},
		{"C", "D", ""}, {"Cdim7", "A", "bb7"}, {"C7(b9,#9)", "C#", "b9"},
	} {
		d, ok := chord(t, tt.symbol).Degree(name(t, tt.name))
		if ok != (tt.degree != "") || ok && d.String() != tt.degree {
			t.Errorf("%s in %s: %s, %v", tt.name, tt.symbol, d, ok)
		}
	}
}

// TestChordTransposition: symbol and notes move together, and back.
func TestChordTransposition(t *testing.T) {
	for _, q := range qualityBook().list {
		for _, a := range roots() {
			c := Chord{Root: a, Tones: q.tones, Slash: true, Bass: a.Up(Interval{2, 3})}
			for _, b := range roots() {
				iv := NameInterval(a, b)
				moved := c.Transpose(iv)
				from, to := c.Spell(), moved.Spell()
				for i := range from {
					if from[i].Up(iv) != to[i] {
						t.Fatalf("%s up %s: %v", c, iv, to)
					}
				}
				if back := moved.Transpose(iv.Neg()); back != c {
					t.Fatalf("%s up and down %s: %s", c, iv, back)
				}
			}
		}
	}
}

// TestFacts: equalities between chords that any harmony text has. Numbers are
// the rows of tables/facts.tsv; 45 after a Wikibooks page, the rest from memory.
func TestFacts(t *testing.T) {
	for _, root := range roots() {
		on := func(suffix string) Chord { return chord(t, root.String()+suffix) }
		up := func(iv Interval, suffix string) Chord { return chord(t, root.Up(iv).Reading().String()+suffix) }
		same := func(fact string, a, b Chord) {
			t.Helper()
			if !slices.Equal(pitchClasses(a), pitchClasses(b)) {
				t.Errorf("%s: %s is %v, %s is %v", fact, a, pitchClasses(a), b, pitchClasses(b))
			}
		}
		// 45: the tritone substitute shares third and seventh, changed about.
		dom, sub := on("7"), up(Interval{4, 6}, "7")
		third, seventh := Degree{3, 0}, Degree{7, -1}
		if third.On(dom.Root).Class() != seventh.On(sub.Root).Class() || seventh.On(dom.Root).Class() != third.On(sub.Root).Class() {
			t.Errorf("45: %s and %s", dom, sub)
		}
		// 51: a diminished seventh repeats at the minor third.
		same("51", on("dim7"), up(Interval{2, 3}, "dim7"))
		same("51", on("dim7"), up(Interval{4, 6}, "dim7"))
		same("51", on("dim7"), up(Interval{5, 9}, "dim7"))
		// 52: C♯°7 is A7(♭9) without its root.
		same("52", up(Interval{2, 4}, "dim7"), on("7(b9,no1)"))
		// 53: sixth chords are sevenths of another root.
		same("53", on("6"), up(Interval{5, 9}, "m7"))
		same("53", on("m6"), up(Interval{5, 9}, "m7b5"))
		same("53", on("m7"), up(Interval{2, 3}, "6"))
		// 54: 7(♭5) and its tritone partner.
		same("54", on("7(b5)"), up(Interval{4, 6}, "7(b5)"))
		// From the chord table: upper triads over a seventh.
		for triad, tension := range map[Interval]string{{1, 2}: "13(#11)", {4, 6}: "7(b9,#11)", {5, 9}: "13(b9)"} {
			c := on("7")
			c.UpperRoot, c.UpperTones = root.Up(triad), DegreesOf(Degree{1, 0}, Degree{3, 0}, Degree{5, 0})
			same("upper triad", c, on(tension))
		}
	}
	// 51: three different ones exist.
	seen := map[string]bool{}
	for class := range 12 {
		for _, n := range roots() {
			if n.Class() == class {
				var s string
				for _, p := range pitchClasses(Chord{Root: n, Tones: chord(t, "Cdim7").Tones}) {
					s += string(rune('a' + p))
				}
				seen[s] = true
			}
		}
	}
	if len(seen) != 3 {
		t.Errorf("51: %d diminished sevenths", len(seen))
	}
	// 45, in words.
	if c := chord(t, "Db7"); c.Root != name(t, "G").Up(Interval{4, 6}) || !c.HasClass(5) || !c.HasClass(11) {
		t.Errorf("45: the tritone substitute of G7 is Db7, with F and B")
	}
}
