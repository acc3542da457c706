package musicxml

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// TestSuiteMetres reads the files on time signatures of the MusicXML test suite
// (Reinhold Kainhofer's, its licence beside it): all of them are read, with the
// groups that they write.
func TestSuiteMetres(t *testing.T) {
	for name, want := range map[string]string{
		"11a-TimeSignatures":                  "2/2 4/4 2/2 3/2 2/4 3/4 4/4 5/4 3/8 6/8 12/8",
		"11c-TimeSignatures-CompoundSimple":   "3+2/8 5+3+1/4",
		"11d-TimeSignatures-CompoundMultiple": "3+2+6/8 20+1/8",
		"11e-TimeSignatures-CompoundMixed":    "3+2+6/8",
		"11f-TimeSignatures-SymbolMeaning":    "3/8 3+2/8 1+4/8",
	} {
		data, err := os.ReadFile(filepath.Join(sharedtest.Path(t, "data/musicxml/testsuite/xmlFiles"), name+".xml"))
		if err != nil {
			t.Fatal(err)
		}
		s, err := ReadSong(data, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var got []string
		for i, b := range s.Bars {
			if i == 0 || b.Meter != s.Bars[i-1].Meter {
				got = append(got, b.Meter.String())
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%s: metres %s, want %s", name, strings.Join(got, " "), want)
		}
	}
}
