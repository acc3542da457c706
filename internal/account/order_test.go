package account_test

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
)

var rest = regexp.MustCompile(`<rest( [^>]*)?/>`)

// TestPlayingOrder: repeats, endings, jumps and orders of parts (ABC 2.1, sections 3.1.9
// and 4.8 to 4.10), and the files on repeats of the MusicXML test suite (Reinhold
// Kainhofer's).
func TestPlayingOrder(t *testing.T) {
	played := func(name string, data []byte) string {
		t.Helper()
		song, err := gradatim.Read(name, data, 0)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		d, err := gradatim.Describe(context.Background(), song, "")
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.SplitSeq(d.Text, "\n") {
			if order, ok := strings.CutPrefix(line, "played   bars "); ok {
				return strings.TrimSuffix(order, " of the sheet")
			}
		}
		return "straight"
	}
	const head = "X:1\nT:Order\nM:4/4\nL:1/4\n"
	for _, tt := range []struct{ name, fields, music, want string }{
		{"straight", "", "CDEF|GABc|]", "straight"},
		{"a repeat", "", "|:CDEF|GABc:|cBAG|]", "1–2, 1–3"},
		{"endings", "", "|:CDEF|1GABc:|2cBAG|]", "1–2, 1, 3"},
		{"three endings", "", "|:CDEF|1,3GABc:|2cBAG:|4G4|]", "1–2, 1, 3, 1–2, 1, 4"},
		{"da capo al fine", "", "CDEF|GABc!fine!|cBAG|EDCD!D.C.!|]", "1–4, 1–2"},
		{"dal segno", "", "CDEF|!segno!GABc|cBAG!D.S.!|]", "1–3, 2–3"},
		{"an order of parts", "P:ABA\n", "P:A\nCDEF|GABc|\nP:B\ncBAG|]", "1–3, 1–2"},
		{"an order that counts the repeats", "P:AAB\n", "P:A\n|:CDEF|GABc:|\nP:B\ncBAG|]", "1–2, 1–3"},
		{"an order over repeats", "P:AB\n", "P:A\n|:CDEF|GABc:|\nP:B\ncBAG|]", "1–2, 1–3"},
		{"D.S. in a field for parts", "", "CDEF|!segno!GABc|cBAG|\nP:D.S.\n", "1–3, 2–3"},
	} {
		if got := played(tt.name+".abc", []byte(head+tt.fields+"K:C\n"+tt.music+"\n")); got != tt.want {
			t.Errorf("%s: played %s, want %s", tt.name, got, tt.want)
		}
	}
	for name, want := range map[string]string{
		"45a-SimpleRepeat":                "1, 1, 1, 1, 1–2",
		"45b-RepeatWithAlternatives":      "1–2, 1, 3–4",
		"45c-RepeatMultipleTimes":         "1–3, 2–3, 2–3, 2–3, 2–7, 4–7, 4–8",
		"45d-Repeats-Nested-Alternatives": "1–2, 1, 3–5, 1, 6–9, 1, 10, 1, 11–12",
		"45e-Repeats-Nested-Alternatives": "1–2, 1, 3–5, 5–7, 6, 8–9, 9–10",
		"45f-Repeats-InvalidEndings":      "1–2, 1–2, 1–2, 1, 3–4, 4–5", // makes no sense, as it says itself
		"45g-Repeats-NotEnded":            "straight",
	} {
		data, err := os.ReadFile(filepath.Join(sharedtest.Path(t, "data/musicxml/testsuite/xmlFiles"), name+".xml"))
		if err != nil {
			t.Fatal(err)
		}
		data = rest.ReplaceAll(data, []byte("<pitch><step>C</step><octave>4</octave></pitch>")) // most have rests alone
		if got := played(name+".xml", data); got != want {
			t.Errorf("%s: played %s, want %s", name, got, want)
		}
	}
}
