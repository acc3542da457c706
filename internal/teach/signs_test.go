package teach_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/musicxml"
	"gradatim/internal/teach"
)

// Every Roman numeral with a sign that a beginner cannot guess has that sign
// explained, and no sign is explained that is nowhere used.
func TestSigns(t *testing.T) {
	for _, name := range []string{"lantern", "harbour", "thistle", "ferry"} {
		_, l := lessonOf(t, name)
		romans := ""
		for _, v := range l.Levels {
			for _, c := range v.Chords {
				for _, u := range c.Uses {
					romans += u.Roman + " "
				}
			}
		}
		substitute := regexp.MustCompile(`♭II\d`).MatchString(romans)
		if has := slices.ContainsFunc(l.Signs, func(s teach.Sign) bool { return s.Sign == "♭II7" }); has != substitute {
			t.Errorf("%s: ♭II7 used: %v, explained: %v", name, substitute, has)
		}
		for sign, explained := range map[string]string{"°": "°", "ø": "ø", "/": "V7/ii", "♭VI": "♭VII"} {
			has := slices.ContainsFunc(l.Signs, func(s teach.Sign) bool { return s.Sign == explained })
			if used := strings.Contains(romans, sign); used && !has || has && !used && sign != "♭VI" {
				t.Errorf("%s: %q used: %v, explained: %v", name, sign, used, has)
			}
		}
	}
}

// No kind of chord is both asked for and new: what a level asks for was on a
// level below.
func TestChordsToBring(t *testing.T) {
	_, l := lessonOf(t, "lantern")
	met := map[string]bool{}
	for _, v := range l.Levels {
		for _, it := range v.Bring {
			if it.Name != "Chords by name" {
				continue
			}
			list := strings.ReplaceAll(strings.TrimSuffix(it.Text, "."), " and ", ", ")
			for _, symbol := range strings.Split(list, ", ") {
				if strings.Contains(symbol, "(") != strings.Contains(symbol, ")") {
					continue // a comma within a symbol
				}
				kind := ""
				for _, c := range v.Chords {
					if c.Symbol == symbol {
						kind = degrees(c)
					}
				}
				if !met[kind] {
					t.Errorf("level %d asks for %s, which no level below has", v.Number, symbol)
				}
			}
		}
		for _, c := range v.Chords {
			met[degrees(c)] = true
		}
	}
}

func degrees(c teach.ChordCard) string {
	s := ""
	for _, tone := range c.Tones {
		s += tone.Degree + " "
	}
	return s
}

// Accidentals in parentheses and the pedal's bracket are explained where a page has them, as
// its MusicXML says (MusicXML 4.0: accidental's attribute parentheses or cautionary, pedal).
func TestPrintedSigns(t *testing.T) {
	for _, name := range []string{"lantern", "ferry"} {
		in, l := lessonOf(t, name)
		var all strings.Builder
		for _, p := range in.Pages {
			xml, err := musicxml.Write(p.Score)
			if err != nil {
				t.Fatal(err)
			}
			all.Write(xml)
		}
		for _, tt := range []struct{ sign, shows string }{{"( ) round an accidental", `<accidental [^>]*(parentheses|cautionary)="yes"`}, {"Bracket under the lower staff", `<pedal [^>]*type="start"`}} {
			has := slices.ContainsFunc(l.Signs, func(s teach.Sign) bool { return s.Sign == tt.sign })
			if used := regexp.MustCompile(tt.shows).MatchString(all.String()); used != has {
				t.Errorf("%s: %q is printed: %t, explained: %t", name, tt.sign, used, has)
			}
		}
	}
}
