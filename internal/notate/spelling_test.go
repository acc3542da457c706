package notate

import (
	"strings"
	"testing"

	"gradatim/internal/scoretest"
)

// Rhythms and octaves as players read them (common practice, no source): a half note on
// the second beat of 4/4 is one note, a longer or an uneven one shows the middle of the
// bar; a triplet over two beats is of like notes, not of a half note and eighths; 8va
// stands over high stretches, not over a note or two.
func TestSpelling(t *testing.T) {
	for _, c := range []struct{ name, music, want, not string }{
		{"across the middle", "meter 4/4\nR1 C5:1/4 D5:1/2 C5:1/4", "C5:4v D5:2v C5:4v", "~"},
		{"across the middle, second voice", "meter 4/4\nR1 C5:1/1\nR2 r:1/4 F4:1/2 r:1/4", "F4:2v", "~"},
		{"beats two and three of 3/4", "meter 3/4\nR1 C5:1/4 D5:1/2", "D5:2v", "~"},
		{"the middle shown", "meter 4/4\nR1 C5:3/8 D5:3/8 C5:1/4", "D5:8v~ D5:4v", ""},
		{"a held note and a triplet", "meter 4/4\nR1 G4:1/3 F4:1/12 G4:1/12 C5:1/2", "G4:4^~ {3:2 G4:8", "G4:2"},
		{"a triplet of quarters", "meter 4/4\nR1 G4:1/6 A4:1/6 B4:1/6 C5:1/2", "{3:2\" G4:4", "~"},
		{"high for long", "meter 4/4\nR1 E6:1/8 F6:1/8 E6:1/8 F6:1/8 E6:1/8 G6:1/8 A6:1/8 F6:1/8", "8va", ""},
		{"high for a note", "meter 4/4\nR1 E5:1/4 G6:1/2 E5:1/4", "G6", "8va"},
	} {
		page, problems := Of(scoretest.MustParse(c.music))
		got := page.String()
		if len(problems) > 0 || !strings.Contains(got, c.want) || c.not != "" && strings.Contains(got, c.not) {
			t.Errorf("%s: want %q and no %q in\n%s%v", c.name, c.want, c.not, got, problems)
		}
	}
}
