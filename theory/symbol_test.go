package theory

import (
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// symbols is the unit table of the reader and the seed of its fuzz test: what is
// written, what the house prints, and whether a caution goes with it.
var symbols = []struct {
	in, out string
	caution bool
}{
	{"C", "C", false}, {"CM", "C", false}, {"Cma", "C", false}, {"Cmajor", "C", false},
	{"C-", "Cm", false}, {"CMI", "Cm", false}, {"CMi7", "Cm7", false}, {"CMI7", "Cm7", false},
	{"CM7", "Cmaj7", false}, {"Cm7", "Cm7", false}, {"CMA7", "Cmaj7", false}, {"Cj7", "Cmaj7", false},
	{"Cmadd9", "Cm(add9)", false}, {"CMadd9", "C(add9)", false}, {"Cmaj7add13", "Cmaj7(add13)", false},
	{"CΔ", "Cmaj7", false}, {"C∆7", "Cmaj7", false}, {"C△9", "Cmaj9", false}, {"C-Δ", "Cm(maj7)", false},
	{"CmM7", "Cm(maj7)", false}, {"Cm/maj7", "Cm(maj7)", false}, {"Cm6(maj7)", "Cm(maj7,add13)", false},
	{"Cø", "Cm7b5", false}, {"CØ7", "Cm7b5", false}, {"C∅", "Cm7b5", false}, {"Cø11", "Cm11b5", false},
	{"Co7", "Cdim7", false}, {"C°7", "Cdim7", false}, {"Cº7", "Cdim7", false}, {"Cm(b5)", "Cdim", false},
	{"C+", "Caug", false}, {"C+5", "Caug", false}, {"Caug7", "C7(#5)", false}, {"C+maj7", "Cmaj7(#5)", false},

	// Where usage differs.
	{"C°", "Cdim", true}, {"Co", "Cdim", true}, {"Cdim", "Cdim", false},
	{"C-5", "C(b5)", true}, {"C(b5)", "C(b5)", false}, {"Cm-5", "Cdim", false},
	{"C2", "C(add9)", true}, {"Cadd2", "C(add9)", false}, {"Cm2", "Cm(add9)", false}, {"C4", "Csus4", true},
	{"C5", "C5", false}, {"Cm5", "Cm", true},
	{"C7+", "C7(#5)", true}, {"C7+5", "C7(#5)", false}, {"C7+9", "C7(#9)", false}, {"Cmaj7+", "Cmaj7(#5)", false},
	{"C11", "C11", true}, {"C7(11)", "C7(add11)", true}, {"Cmaj11", "Cmaj11", true}, {"Cm11", "Cm11", false},
	{"C-9", "Cm9", true}, {"C7-9", "C7(b9)", false}, {"C+9", "C9(#5)", true}, {"C9+11", "C9(#11)", false},
	{"Cm+7", "Cm(maj7)", true}, {"Cm#7", "Cm(maj7)", false}, {"C(9)", "C9", true},
	{"Cb5", "Cb5", true}, {"C#5", "C#5", true}, {"C#9", "C#9", true}, {"C#11", "C#11", true},
	{"Bb9", "Bb9", false}, {"Eb13", "Eb13", false}, {"F#9", "F#9", false}, {"Cb9", "Cb9", true},
	{"C b9", "C7(b9)", false}, {"E b7", "Eb7", false}, {"C #5", "Caug", false},

	// Slashes, commas and brackets.
	{"C6/9", "C6/9", false}, {"C6/9/E", "C6/9/E", false}, {"C7/6", "C7(add13)", false}, {"C/9", "C(add9)", false},
	{"C/E", "C/E", false}, {"C/e", "C/E", false}, {"D/f#", "D/F#", false}, {"D/f+", "D/F#", false},
	{"C/C", "C", false}, {"C/B#", "C/B#", false}, {"Gm7/C", "Gm7/C", false}, {"C7/b9", "C7(b9)", false},
	{"C7/b", "C7/B", false}, {"C7(b9,#11)/E", "C7(b9,#11)/E", false}, {"C7(b9/#11)", "C7(b9,#11)", false},
	{"C7(b9 #11)", "C7(b9,#11)", false}, {"C7b9#11", "C7(b9,#11)", false}, {"C7(#9)(b13)", "C7(#9,b13)", false},
	{"C7,6", "C7(add13)", false}, {"C7(9,13)", "C13", false}, {"Cm(add9,11)", "Cm(add9,add11)", false},
	{"Csus2/4", "Csus2sus4", false}, {"C9sus", "C9sus4", false}, {"Csus9", "C9sus4", false},
	{"C7susb9", "C7sus4(b9)", false}, {"C7omit3", "C7(no3)", false}, {"C(no 3rd)", "C5", false},
	{"C7b10", "C7(#9)", false}, {"C7dim5", "C7(b5)", false}, {"C7(add13)", "C7(add13)", false},

	// Polychords.
	{"D over C7", "D over C7", false}, {"D|C7", "D over C7", false}, {"D♭ over C7", "Db over C7", false},
	{"F#m over C7/E", "F#m over C7/E", false}, {"Caug over C7(b9)", "Caug over C7(b9)", false},

	// What print and other scripts have.
	{"B♭7(♭9)/D", "Bb7(b9)/D", false}, {"F♯m7♭5", "F#m7b5", false}, {"B𝄫", "Bbb", false}, {"C♮", "C", false},
	{"Ｃ７", "C7", false}, {"Ｃ（♯５）", "Caug", false}, {"C\u2009maj\u202f7", "Cmaj7", false},
	{"C\u200b7", "C7", false}, {"C⁷", "C7", false}, {"C⁶⁄₉", "C6/9", false}, {"C7⁽♭⁹⁾", "C7(b9)", false},
	{"C−7", "Cm7", false}, {"C–7", "Cm7", false}, {"C\ue8737", "Cmaj7", false}, {"C\ue870", "Cdim", true},
	{"B\ue260\ue871", "Bbm7b5", false}, {" C major 7 ", "Cmaj7", false}, {"C half-diminished", "Cm7b5", false},

	// No chord, repeats, optional chords.
	{"N.C.", "N.C.", false}, {"NC", "N.C.", false}, {"n.c.", "N.C.", false}, {"no chord", "N.C.", false},
	{"Ｎ．Ｃ．", "N.C.", false}, {"tacet", "N.C.", false}, {"%", "%", false},
	{"(Em7)", "(Em7)", false}, {"[Em7]", "(Em7)", false}, {"(D", "(D)", false}, {"A7)", "(A7)", false}, {"C7b9)", "(C7(b9))", false},
	{"(C7(b9))", "(C7(b9))", false}, {"(D over C7(b9))", "(D over C7(b9))", false}, {"C(add9)", "C(add9)", false},
}

// What symbols mean is compared with libraries and the table of trade use elsewhere
// (TestSymbolConsensus, TestChordTable); where usage differs the choice is ours.
func TestParseSymbol(t *testing.T) {
	for _, tt := range symbols {
		s, err := ParseSymbol(tt.in)
		if err != nil {
			t.Errorf("%q: %v", tt.in, err)
			continue
		}
		if s.String() != tt.out {
			t.Errorf("%q is read as %s, want %s", tt.in, s, tt.out)
		}
		if tt.caution != (len(s.Cautions) > 0) {
			t.Errorf("%q has cautions %q", tt.in, s.Cautions)
		}
		for _, c := range s.Cautions {
			if !strings.HasPrefix(c.Written, s.Chord.Root.String()) {
				t.Errorf("%q: a caution does not name the chord: %q", tt.in, c)
			}
		}
	}
}

// unreadable are symbols that must be refused, with the nearest readable one.
var unreadable = []struct{ in, suggestion string }{
	{"Bbm77", "Bbm7"}, {"Cmjaj7", "Cmaj7"}, {"Cmaj77", "Cmaj7"}, {"Csuss4", "Csus4"}, {"C7#8", "C7(#5)"},
	{"Cdimm7", "Cdim7"}, {"F#m7b", "F#m7"}, {"C7(b9", "C7(b9)"}, {"Cfoo", "C"},
	{"Hm7", "Bm7"}, {"am7", "Am7"}, {"f#", "F#"}, {"D/C7", "D over C7"}, {"D over X", ""}, {"Dm over", "Dm"},
	{"C/H", "C"}, {"C7/E/G7", "C7"}, {"Cmaj7maj9", "Cmaj7"}, {"C7(maj7)", "Cmaj7"}, {"C7alt9", "C7alt"},
	{"", ""}, {"   ", ""}, {"X7", ""}, {"Play 4x", ""}, {"(", ""}, {")", ""}, {"7", ""}, {"/E", ""}, {"♭", "B"},
}

func TestSymbolErrors(t *testing.T) {
	for _, tt := range unreadable {
		s, err := ParseSymbol(tt.in)
		var bad *SymbolError
		if !errors.As(err, &bad) {
			t.Errorf("%q is read as %s", tt.in, s)
			continue
		}
		if bad.Text != tt.in {
			t.Errorf("%q: the error quotes %q", tt.in, bad.Text)
		}
		if bad.Suggestion != tt.suggestion {
			t.Errorf("%q: suggests %q, want %q", tt.in, bad.Suggestion, tt.suggestion)
		}
		if bad.Suggestion != "" && !strings.Contains(err.Error(), bad.Suggestion) {
			t.Errorf("%q: the message %q hides the suggestion", tt.in, err)
		}
	}
}

// TestHostileSymbols: whatever comes is refused or read, with a short message;
// BenchmarkHostileSymbol has the cost.
func TestHostileSymbols(t *testing.T) {
	for _, unit := range []string{"[", "(", "C", "C7(", "b", "/", "♭", "\u200b", "C/C/", " over ", "\xff", "a"} {
		for _, s := range []string{strings.Repeat(unit, 10<<20/len(unit)), "C" + strings.Repeat(unit, maxSymbol/len(unit)-1)} {
			_, err := ParseSymbol(s)
			var bad *SymbolError
			if err != nil && (!errors.As(err, &bad) || len(bad.Text) > 200) {
				t.Errorf("%.10q…: %.100v", s, err)
			}
		}
	}
}

// TestSuffixOfAnySet: every normal set of degrees has a suffix that reads back.
func TestSuffixOfAnySet(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	check := func(s Degrees) {
		t.Helper()
		want := s.Normal()
		if want != want.Normal() {
			t.Fatalf("%s is not normal after Normal", want)
		}
		text := suffixOf(s)
		if got, ok := readSuffix(text); !ok || got != want {
			t.Fatalf("%s prints as C%s, which reads as %s (%v)", want, text, got, ok)
		}
		sym, err := ParseSymbol("F#" + text + "/A")
		if err != nil || sym.Chord.Tones != want || sym.Chord.Bass != (Name{A, 0}) {
			t.Fatalf("F#%s/A: %v, %v", text, sym, err)
		}
	}
	usual := []Degree{{1, 0}, {2, 0}, {3, -1}, {3, 0}, {4, 0}, {5, -1}, {5, 0}, {5, 1}, {6, 0}, {6, -1}, {7, -2}, {7, -1},
		{7, 0}, {9, -1}, {9, 0}, {9, 1}, {11, 0}, {11, 1}, {13, -1}, {13, 0}}
	for i := uint32(0); i < 1<<20; i += 1 + rnd.Uint32N(200) {
		s := DegreesOf(Degree{1, 0})
		for j, d := range usual {
			if i>>j&1 == 1 {
				s = s.With(d)
			}
		}
		check(s)
	}
	for range 2000 { // and the absurd
		var s Degrees
		for range 1 + rnd.IntN(9) {
			s = s.With(Degree{int8(1 + rnd.IntN(13)), int8(rnd.IntN(5) - 2)})
		}
		check(s)
	}
}

// TestHouseStyle: suffixes as the house writes sets that have no row.
func TestHouseStyle(t *testing.T) {
	for degrees, want := range map[string]string{
		"1 3 b7 b9":                  "7(b9,no5)",
		"1 3 5 b7 9 #11 b13":         "9(#11,b13)",
		"1 3 b5 b7 9 13":             "13(b5)",
		"1 b3 b5 b7 b9":              "m7b5(b9)",
		"1 b3 5 7 b13":               "m(maj7,b13)",
		"1 4 5 b7 b9 b13":            "7sus4(b9,b13)",
		"1 3 #5 7 #11":               "maj7(#5,#11)",
		"1 3 5 b7 b9 #9 b13":         "7(b9,#9,b13)",
		"1 3 b5 5":                   "(addb5)",
		"1":                          "5(no5)",
		"1 3 5 9 11":                 "(add9,add11)",
		"1 3 5 11":                   "(add4)",
		"1 3 5 13":                   "6",
		"1 3 5 6 b7":                 "7(add13)",
		"1 2 3 5":                    "(add9)",
		"1 3 5 b7 9 11 13":           "13(add11)",
		"1 b3 5 b7 9 13":             "m9(add13)",
		"1 b3 b5 bb7 9 11":           "dim7(add9,add11)",
		"3 5 b7":                     "7(no1)",
		"1 3 b5 #5 b7 b9 #9 #11 b13": "7(b5,#5,b9,#9,#11,b13)",
	} {
		s, err := ParseDegrees(degrees)
		if err != nil {
			t.Fatal(err)
		}
		if got := suffixOf(s); got != want {
			t.Errorf("%s is written %q, want %q", degrees, got, want)
		}
	}
}

func TestPretty(t *testing.T) {
	for in, want := range map[string]string{
		"Bb7(b9)/D": "B♭7(♭9)/D", "F#m7b5": "F♯m7♭5", "Db over C7(#11)": "D♭ over C7(♯11)", "N.C.": "N.C.",
		"Cbb7": "C𝄫7", "Cdim7": "Cdim7",
	} {
		s, err := ParseSymbol(in)
		if err != nil {
			t.Error(err)
		} else if s.Chord.Pretty() != want {
			t.Errorf("%s: %s, want %s", in, s.Chord.Pretty(), want)
		}
	}
}

// FuzzParseSymbol: what is read prints, and what is printed reads back as the
// same symbol and prints the same.
func FuzzParseSymbol(f *testing.F) {
	for _, tt := range symbols {
		f.Add(tt.in)
	}
	for _, tt := range unreadable {
		f.Add(tt.in)
	}
	for _, q := range qualityBook().list {
		f.Add("F#" + q.suffix + "/A")
	}
	f.Fuzz(func(t *testing.T, in string) {
		s, err := ParseSymbol(in)
		if err != nil {
			var bad *SymbolError
			if !errors.As(err, &bad) {
				t.Fatalf("%q: %T", in, err)
			}
			if bad.Suggestion != "" {
				if r, err := ParseSymbol(bad.Suggestion); err != nil || r.String() != bad.Suggestion {
					t.Fatalf("%q: suggestion %q reads as %v (%v)", in, bad.Suggestion, r, err)
				}
			}
			return
		}
		out := s.String()
		again, err := ParseSymbol(out)
		if err != nil {
			t.Fatalf("%q prints as %q: %v", in, out, err)
		}
		if again.Chord != s.Chord || again.NoChord != s.NoChord || again.Repeat != s.Repeat || again.Optional != s.Optional {
			t.Fatalf("%q prints as %q, which reads as %+v, not %+v", in, out, again, s)
		}
		if pretty, err := ParseSymbol(s.Chord.Pretty()); err != nil || pretty.Chord != s.Chord {
			t.Fatalf("%q prints as %q, which reads as %+v (%v)", in, s.Chord.Pretty(), pretty, err)
		}
		if !s.NoChord && !s.Repeat {
			sounds := s.Chord.Spell()
			if !slices.ContainsFunc(sounds, func(n Name) bool { return n.Class() == s.Chord.Lowest().Class() }) &&
				s.Chord.Tones.Has(Degree{1, 0}) {
				t.Fatalf("%q: the lowest note is not spelled: %v", in, sounds)
			}
		}
	})
}

func BenchmarkParseSymbol(b *testing.B) {
	for _, in := range []string{"C", "Bbm7b5/Ab", "F#13(b9,#11)", "Bbm77"} {
		b.Run("symbol="+in, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, _ = ParseSymbol(in)
			}
		})
	}
}

func BenchmarkHostileSymbol(b *testing.B) {
	for name, in := range map[string]string{
		"bytes=10M": strings.Repeat("[", 10<<20),
		"bytes=128": "C" + strings.Repeat("b", maxSymbol-1),
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, _ = ParseSymbol(in)
			}
		})
	}
}

func BenchmarkChordString(b *testing.B) {
	for _, in := range []string{"C7", "Cm9b5(add11,b13)"} {
		s, err := ParseSymbol(in)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("chord="+in, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_ = s.Chord.String()
			}
		})
	}
}
