package abc

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/theory"
)

// Keys as ABC 2.1, section 3.1.14, has them; the signatures are those of the
// circle of fifths.
var keyFields = []struct {
	in, key string
	signs   string // alterations of C D E F G A B
	ok      bool
}{
	{"C", "C major", "0 0 0 0 0 0 0", true},
	{"G", "G major", "0 0 0 1 0 0 0", true},
	{"F#m", "F# minor", "1 0 0 1 1 0 0", true},
	{"Bb", "Bb major", "0 0 -1 0 0 0 -1", true},
	{"A#m", "A# minor", "1 1 1 1 1 1 1", true},
	{"A min", "A minor", "0 0 0 0 0 0 0", true},
	{"A minor", "A minor", "0 0 0 0 0 0 0", true},
	{"GMaj", "G major", "0 0 0 1 0 0 0", true},
	{"ADor", "A dorian", "0 0 0 1 0 0 0", true},
	{"A Mix", "A mixolydian", "1 0 0 1 0 0 0", true},
	{"EPhr", "E phrygian", "0 0 0 0 0 0 0", true},
	{"F lyd", "F lydian", "0 0 0 0 0 0 0", true},
	{"Bloc", "B locrian", "0 0 0 0 0 0 0", true},
	{"D ionian", "D major", "1 0 0 1 0 0 0", true},
	{"Eaeo", "E aeolian", "0 0 0 1 0 0 0", true},
	{"g", "G major", "0 0 0 1 0 0 0", true},
	{"E♭", "Eb major", "0 0 -1 0 0 -1 -1", true},
	{"D exp _b ^f", "D mixolydian", "0 0 0 1 0 0 -1", true},
	{"D exp ^f ^c", "D major", "1 0 0 1 0 0 0", true},
	{"D Phr ^f", "D phrygian", "0 0 -1 1 0 0 -1", true},
	{"D ^c", "D major", "1 0 0 1 0 0 0", true},
	{"Am ^g=c", "A minor", "0 0 0 0 1 0 0", true},
	{"D^g", "D major", "1 0 0 1 1 0 0", true},
	{"HP", "A mixolydian", "1 0 0 1 0 0 0", true},
	{"Hp", "A mixolydian", "1 0 0 1 0 0 0", true},
	{"none", "C major", "0 0 0 0 0 0 0", true},
	{"", "C major", "0 0 0 0 0 0 0", true},
	{"G clef=bass", "G major", "0 0 0 1 0 0 0", true},
	{"Dm octave=-1 treble", "D minor", "0 0 0 0 0 0 -1", true},
	{"treble-8", "C major", "0 0 0 0 0 0 0", true},
	{"H", "", "", false},
	{"Gfoo", "", "", false},
	{"G ^", "", "", false},
	{"G hello", "", "", false},
	{"G ^^^f", "", "", false},
	{"7", "", "", false},
}

func TestParseKey(t *testing.T) {
	for _, tt := range keyFields {
		sig, ok := parseKey(tt.in, noSignature())
		if ok != tt.ok {
			t.Errorf("K:%s: ok %v", tt.in, ok)
			continue
		}
		if !ok {
			continue
		}
		if signs := strings.Trim(fmt.Sprint(sig.alter), "[]"); sig.key.String() != tt.key || signs != tt.signs {
			t.Errorf("K:%s is %s (%s), want %s (%s)", tt.in, sig.key, signs, tt.key, tt.signs)
		}
	}
}

func TestKeyText(t *testing.T) {
	for m := theory.Major; m <= theory.Locrian; m++ {
		for f := -14; f <= 14; f++ {
			k := theory.KeyOf(f, m)
			sig, ok := parseKey(keyText(k), noSignature())
			if !ok {
				t.Fatalf("%s is written %q, which is not read", k, keyText(k))
			}
			if sig.key.Mode != k.Mode || sig.key.Tonic.Class() != k.Tonic.Class() {
				t.Errorf("%s is written %q and read as %s", k, keyText(k), sig.key)
			}
			if k.Tonic.Alter >= -1 && k.Tonic.Alter <= 1 && sig.key != k {
				t.Errorf("%s is read back as %s", k, sig.key)
			}
		}
	}
}

func TestParseMeter(t *testing.T) {
	for _, tt := range []struct {
		in, out  string
		free, ok bool
	}{
		{"4/4", "4/4", false, true}, {"6/8", "6/8", false, true}, {" 3 / 4 ", "3/4", false, true},
		{"C", "4/4", false, true}, {"C|", "2/2", false, true}, {"(2+3)/8", "2+3/8", false, true}, {"2+2+3/8", "2+2+3/8", false, true},
		{"2/4+3/8", "4+3/8", false, true}, {"(3+3+2)/8", "3+3+2/8", false, true}, {"3+/8", "", false, false}, {"2/4+3", "", false, false},
		{"none", "0/0", true, true}, {"", "0/0", true, true},
		{"4", "0/0", false, false}, {"4/5", "", false, false}, {"0/4", "", false, false}, {"99999999/4", "", false, false}, {"x/4", "", false, false},
	} {
		m, free, ok := parseMeter(tt.in)
		if ok != tt.ok || free != tt.free || ok && m.String() != tt.out {
			t.Errorf("M:%s is %s free %v ok %v", tt.in, m, free, ok)
		}
	}
}

// The default of L: (ABC 2.1, section 3.1.7): below 3/4 a sixteenth.
func TestUnitFor(t *testing.T) {
	for in, want := range map[string]frac{"2/4": {1, 16}, "3/4": {1, 8}, "4/4": {1, 8}, "6/8": {1, 8}, "5/8": {1, 16}, "C|": {1, 8}, "none": {1, 8}, "3/2": {1, 8}} {
		m, _, _ := parseMeter(in)
		if got := unitFor(m); got != want {
			t.Errorf("M:%s: unit %v, want %v", in, got, want)
		}
	}
}

func TestParseTempo(t *testing.T) {
	for _, tt := range []struct {
		in                string
		beat, words       string
		per               int
		old, rounded, bad bool
	}{
		{in: "1/4=120", beat: "1/4", per: 120},
		{in: `"Allegro" 1/4=120`, beat: "1/4", words: "Allegro", per: 120},
		{in: `3/8=50 "Slowly"`, beat: "3/8", words: "Slowly", per: 50},
		{in: "1/4 3/8 1/4 3/8=40", beat: "5/4", per: 40},
		{in: `"Andante"`, beat: "0", words: "Andante"},
		{in: "120", beat: "1/8", per: 120, old: true},
		{in: "C=100", beat: "1/8", per: 100, old: true},
		{in: "C3=40", beat: "3/8", per: 40, old: true},
		{in: "1/4=119.6", beat: "1/4", per: 120, rounded: true},
		{in: "1/4=0", bad: true}, {in: "1/4=Inf", bad: true}, {in: "1/4=NaN", bad: true}, {in: "1/0=60", bad: true},
		{in: `"open`, bad: true}, {in: "", bad: true}, {in: "fast", bad: true}, {in: "1/4=99999", bad: true},
	} {
		tempo, old, rounded, ok := parseTempo(tt.in, frac{1, 8})
		if ok == tt.bad {
			t.Errorf("Q:%s: ok %v", tt.in, ok)
			continue
		}
		if ok && (tempo.Beat.String() != tt.beat || tempo.Words != tt.words || tempo.PerMinute != tt.per || old != tt.old || rounded != tt.rounded) {
			t.Errorf("Q:%s is %+v old %v rounded %v", tt.in, tempo, old, rounded)
		}
	}
}

func TestPartOrder(t *testing.T) {
	for _, tt := range []struct {
		in, out, rest string
		long          bool
	}{
		{"AABA", "AABA", "", false}, {"A.B.A", "ABA", "", false}, {"A2B3", "AABBB", "", false},
		{"(AB)3", "ABABAB", "", false}, {"(A2B)3", "AABAABAAB", "", false}, {"((AB)2C)2", "ABABCABABC", "", false},
		{"A(ABBB)2(ACCC)2B", "AABBBABBBACCCACCCB", "", false}, {"A0B", "B", "", false},
		{"A(B", "A", "(B", false}, {"AB)C", "AB", ")C", false}, {"AB twice", "AB", "twice", false}, {"", "", "", false},
		{"A99999", "", "", true}, {"((((A99)99)99)99)", "", "", true}, {"()99999", "", "", false},
		{strings.Repeat("(", MaxPartDepth+1), "", strings.Repeat("(", MaxPartDepth+1), false},
	} {
		out, rest, long := partOrder(tt.in)
		if string(out) != tt.out || long != tt.long || !long && rest != tt.rest {
			t.Errorf("P:%s is %q rest %q long %v", tt.in, out, rest, long)
		}
	}
}

var texts = []struct{ in, out string }{
	{"plain", "plain"},
	{`caf\'e`, "café"}, {`\"Uber`, "Über"}, {`\~n`, "ñ"}, {`gar\ccon`, "garçon"}, {`\aa\AA\ae\AE\oe\OE`, "åÅæÆœŒ"},
	{`\/O\/o`, "Øø"}, {`\ss`, "ß"}, {`\vS`, "Š"}, {`\HO`, "Ő"}, {`\uA`, "Ă"}, {`&eacute;&amp;`, "é&"}, {`\u00e9`, "é"},
	{`R\&B`, "R&B"}, {`100\%`, "100%"}, {`H\&S`, "H&S"}, {`a \\ b`, `a \ b`}, {"a & b", "a & b"}, {`\`, ""}, {"\x01x\x02", "x"},
}

func TestPlain(t *testing.T) {
	for _, tt := range texts {
		if got := plain(tt.in); got != tt.out {
			t.Errorf("%q is read as %q, want %q", tt.in, got, tt.out)
		}
	}
}

func FuzzText(f *testing.F) {
	for _, tt := range texts {
		f.Add(tt.in)
		f.Add(tt.out)
	}
	f.Fuzz(func(t *testing.T, s string) {
		text := plain(strings.ToValidUTF8(s, ""))
		if got := plain(uncomment(guarded(text))); got != text {
			t.Errorf("%q is written %q and read as %q", text, guarded(text), got)
		}
	})
}

func TestReadSymbol(t *testing.T) {
	for _, tt := range []struct {
		in   string
		plus bool
		out  string
	}{
		{"D/f+", false, "D/F#"}, {"Gm/bb", false, "Gm/Bb"}, {"C/e", false, "C/E"}, {"(F+7)", true, "(F#7)"}, {"F+7", false, "F7(#5)"},
		{"D/F+", true, "D/F#"}, {"G(Em)", false, "G"}, {"C(add9)", false, "C(add9)"}, {"f#", false, "bass F#"}, {"e", false, "bass E"},
		{"b", false, "bass B"}, {"bb", false, "bass Bb"}, {"c+", false, "bass C#"}, {"Bbm77", false, "unknown"}, {"N.C.", false, "N.C."}, {"%", false, "%"},
	} {
		r := readSymbol(tt.in, tt.plus)
		got := r.symbol.String()
		switch {
		case r.unknown:
			got = "unknown"
		case r.bassOnly:
			got = "bass " + r.bass.String()
		}
		if got != tt.out {
			t.Errorf("%q is read as %s, want %s", tt.in, got, tt.out)
		}
	}
}

// Titles as collections of dances have them in their indexes (common practice, no source).
func TestSpoken(t *testing.T) {
	for in, want := range map[string]string{
		"Foxhunter's, The": "The Foxhunter's", "Long Way, A": "A Long Way", "Hey, Hey, The": "The Hey, Hey",
		"Now, Then": "Now, Then", ", The": ", The", "The Foxhunter's": "The Foxhunter's", "Tea, the": "Tea, the",
	} {
		if got := spoken(in); got != want {
			t.Errorf("%q is said %q, want %q", in, got, want)
		}
	}
}

func TestUnaddressed(t *testing.T) {
	for in, want := range map[string]string{
		"Jo Writer, jo.writer@example.org": "Jo Writer", "Jo Writer <jo@example.org>": "Jo Writer", "Jo (jo@mail.example.org), 2001": "Jo, 2001",
		"jo@example.org": "jo@example.org", "Jo Writer": "Jo Writer", "id:xy-12 @ home": "id:xy-12 @ home",
	} {
		if got := unaddressed(in); got != want {
			t.Errorf("%q is printed as %q, want %q", in, got, want)
		}
	}
}
