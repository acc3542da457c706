package engrave

import (
	"encoding/xml"
	"os"
	"strings"
	"testing"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

func harmony(t *testing.T, s string) *markup.Harmony {
	t.Helper()
	c := markup.NewCursor([]byte("<harmony>" + s + "</harmony>"))
	h := c.Harmony(c.Next().(xml.StartElement))
	if c.Err() != nil {
		t.Fatal(c.Err())
	}
	return &h
}

func TestSymbolOf(t *testing.T) {
	root := func(step, alter string) string {
		return "<root><root-step>" + step + "</root-step><root-alter>" + alter + "</root-alter></root>"
	}
	degree := func(attrs, value, alter, typ string) string {
		return "<degree" + attrs + "><degree-value>" + value + "</degree-value><degree-alter>" + alter + "</degree-alter><degree-type>" + typ + "</degree-type></degree>"
	}
	tests := []struct{ in, want string }{
		{root("C", "0") + `<kind text="maj7">major-seventh</kind>`, "Cmaj7"},
		{root("B", "-1") + `<kind>dominant</kind>`, "B♭7"},
		{root("F", "1") + `<kind>half-diminished</kind>`, "F♯ø7"},
		{root("C", "0") + `<kind text="">major</kind>`, "C"},
		// A degree that the kind's text has is not printed again; one that it
		// has not is; one that is not to be printed is not.
		{root("A", "0") + `<kind text="7(b9)">dominant</kind>` + degree("", "9", "-1", "add"), "A7(♭9)"},
		{root("A", "0") + `<kind text="7">dominant</kind>` + degree("", "9", "-1", "add"), "A7(♭9)"},
		{root("A", "0") + `<kind text="7">dominant</kind>` + degree(` print-object="no"`, "9", "-1", "add"), "A7"},
		{root("A", "0") + `<kind>dominant</kind>` + degree("", "9", "1", "add") + degree("", "13", "-1", "add"), "A7(♯9♭13)"},
		{root("C", "0") + `<kind>major</kind>` + degree("", "9", "0", "add"), "C(add9)"},
		{root("C", "0") + `<kind>major</kind>` + degree("", "3", "0", "subtract"), "C(omit3)"},
		{root("C", "0") + `<kind>dominant</kind>` + degree("", "5", "-1", "alter"), "C7(♭5)"},
		{root("C", "0") + `<kind text="6/9">major-sixth</kind>` + degree("", "9", "0", "add"), "C6/9"},
		{root("C", "0") + `<kind text="7#9b13">dominant</kind>`, "C7(♯9,♭13)"},
		{root("G", "0") + `<kind text="m7♭5">half-diminished</kind>`, "Gm7(♭5)"},
		{root("G", "0") + `<kind text="m7♭5(add11)">half-diminished</kind>`, "Gm7(♭5,add11)"},
		{root("G", "0") + `<kind text="m7b5">half-diminished</kind><bass><bass-step>D</bass-step><bass-alter>-1</bass-alter></bass>`, "Gm7(♭5)/D♭"},
		{root("G", "0") + `<kind text="7">dominant</kind><bass><bass-step>B</bass-step><bass-alter>-1</bass-alter></bass>`, "G7/B♭"},
		{`<root><root-step text="H">B</root-step></root><kind>minor</kind>`, "Hm"},
		{`<kind text="N.C.">none</kind>`, "N.C."},
		{root("C", "0") + `<kind>none</kind>`, "N.C."},
		{`<function>V</function><kind text="7">dominant</kind>`, "V7"},
		{root("C", "0") + `<kind>major-minor</kind>`, "Cm(maj7)"},
		{`<kind>major</kind>`, ""},
	}
	for _, tt := range tests {
		s := symbolOf(harmony(t, tt.in))
		if got := s.String(); got != tt.want && !(tt.want == "" && s.empty()) {
			t.Errorf("%s: got %q, want %q", tt.in, got, tt.want)
		}
	}
}

// Every kind of the standard prints something that the chord reader reads as a
// chord of that kind's third (the schema lists 33 kinds).
func TestKindSuffixes(t *testing.T) {
	xsd, err := os.ReadFile(sharedtest.Path(t, "data/musicxml/schema") + "/musicxml.xsd")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(xsd), `<xs:simpleType name="kind-value">`)
	if !ok {
		t.Fatal("the schema has no kind-value")
	}
	rest, _, _ = strings.Cut(rest, "</xs:simpleType>")
	n := 0
	for line := range strings.Lines(rest) {
		_, v, ok := strings.Cut(line, `<xs:enumeration value="`)
		if !ok {
			continue
		}
		v, _, _ = strings.Cut(v, `"`)
		n++
		suffix, known := kindSuffix[v]
		if !known && v != "none" && v != "other" {
			t.Errorf("kind %q has no suffix", v)
			continue
		}
		switch v {
		case "none", "other", "Neapolitan", "Italian", "French", "German", "pedal", "Tristan":
			continue // not chord symbols that a player reads by degrees
		}
		s, err := theory.ParseSymbol("C" + suffix)
		if err != nil {
			t.Errorf("kind %q prints C%s: %v", v, suffix, err)
			continue
		}
		minor := strings.Contains(v, "minor") || strings.Contains(v, "diminished")
		if minor != s.Chord.MinorThird() {
			t.Errorf("kind %q prints C%s, whose third is of the other kind", v, suffix)
		}
	}
	if n != 33 {
		t.Errorf("%d kinds, want 33", n)
	}
}

func TestDegreesOf(t *testing.T) {
	for in, want := range map[string]string{
		"Cmaj7": "1 3 5 7", "E♭7(♯9♭13)": "1 3 5 ♭7 ♯9 ♭13", "F♯ø7": "1 ♭3 ♭5 ♭7", "Gsus4": "1 4 5", "N.C.": "", "???": "",
	} {
		if got := degreesOf(in); got != want {
			t.Errorf("%s: %q, want %q", in, got, want)
		}
	}
}

func TestAccidentalSigns(t *testing.T) {
	for in, want := range map[string]string{
		"b9": "♭9", "7#11": "7♯11", "sub": "sub", "3 b7 #9": "3 ♭7 ♯9", "bb7": "b♭7", "dub": "dub", "": "",
	} {
		if got := accidentalSigns(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func TestCutRaised(t *testing.T) {
	for in, want := range map[string][]string{
		"7(♭9)": {"7", "♭9"}, "m7": {"m7"}, "(add9)": {"", "add9"}, "7(♯9)(♭13)": {"7", "♯9", "♭13"},
		"7(": {"7("}, "7)": {"7)"}, "7()": {"7"}, "m(maj7)9": {"m9", "maj7"},
	} {
		line, raised := cutRaised(in)
		if got := append([]string{line}, raised...); strings.Join(got, "|") != strings.Join(want, "|") {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}
