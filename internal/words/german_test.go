package words_test

import (
	"strings"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/theory"
)

// TestGermanNames holds the names of notes against the rule of the trade: -is for a
// sharp, -es for a flat, with Es, As, B and H for what would be Ees, Aes, Hes and B
// (Grabner, Allgemeine Musiklehre, from memory).
func TestGermanNames(t *testing.T) {
	w := words.Must("de")
	for l := theory.C; l <= theory.B; l++ {
		base := l.String()
		if l == theory.B {
			base = "H"
		}
		for alter := int8(-2); alter <= 2; alter++ {
			want := base + strings.Repeat("is", max(0, int(alter))) + strings.Repeat("es", max(0, int(-alter)))
			switch {
			case alter < 0 && (base == "E" || base == "A"):
				want = base + want[2:] // Es, Eses; As, Ases
			case alter == -1 && base == "H":
				want = "B"
			}
			if base == "A" && alter == -2 {
				want = "Asas" // the other form of Ases
			}
			if got := w.Name(theory.Name{Letter: l, Alter: alter}); got != want {
				t.Errorf("%s%+d is %q, not %q", l, alter, got, want)
			}
		}
	}
}

// TestGerman: what German writes otherwise than English. Octaves are Helmholtz's.
func TestGerman(t *testing.T) {
	w := words.Must("de")
	pitch := func(s string) theory.Pitch {
		p, err := theory.ParsePitch(s)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	key := func(s string) theory.Key {
		k, err := theory.ParseKey(s)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	chord := func(s string) theory.Chord {
		c, err := theory.ParseSymbol(s)
		if err != nil {
			t.Fatal(err)
		}
		return c.Chord
	}
	for _, tt := range []struct {
		value any
		want  string
	}{
		{pitch("C4"), "c¹"}, {pitch("B3"), "h"}, {pitch("Bb2"), "B"}, {pitch("F#5"), "fis²"}, {pitch("A0"), "Subkontra-A"}, {pitch("E1"), "Kontra-E"},
		{key("G"), "G-Dur"}, {key("Gm"), "g-Moll"}, {key("Bb"), "B-Dur"}, {key("Bm"), "h-Moll"}, {key("F#m"), "fis-Moll"}, {key("Ddor"), "d-Dorisch"},
		{chord("Bb7"), "B♭7"}, // symbols stand as they are printed
		{theory.Quarter * 3 / 2, "punktierte Viertel"},
		{words.Bars{0, 1, 2, 3, 7}, "der Auftakt und Takte 1–3 und 7"},
		{words.Tenths(43), "4,3"},
		{reason.Signature(-2), "2 Be"}, {reason.Signature(1), "1 Kreuz"},
		{leadsheet.Beat(leadsheet.BeatUnit*2 + leadsheet.BeatUnit/2), "auf „2 und“"},
		{words.Tone{Degree: theory.Degree{Number: 3, Alter: -1}, Chord: chord("Gm7")}, "die kleine Terz von Gm7"},
	} {
		if got := w.Value(tt.value); got != tt.want {
			t.Errorf("%v: %q, not %q", tt.value, got, tt.want)
		}
	}
	if got := w.Say("lesson.drill.from-page.left.text", "Bars", words.Bars{3}); got != "Die linke Hand allein in Takt 3" {
		t.Error(got)
	}
	if order := w.Alphabet(); order("Übung", "Vorhalt") >= 0 || order("Akkord", "Äolisch") >= 0 || order("enge Lage", "Entlehnt") >= 0 {
		t.Error("words are not in the order of a German dictionary (DIN 5007-1: ä as a)")
	}
}

// TestGermanIsWrittenAsSuch: quotation marks are German, nobody is addressed as Sie, and
// there is no English quotation mark or apostrophe left.
func TestGermanIsWrittenAsSuch(t *testing.T) {
	var text strings.Builder
	for line := range strings.Lines(string(words.Must("de").Source())) {
		if !strings.HasPrefix(line, "#") {
			text.WriteString(line)
		}
	}
	s := text.String()
	if strings.Count(s, "„") != strings.Count(s, "“") || strings.ContainsAny(s, "”’‘") {
		t.Errorf("%d „ and %d “, or English marks", strings.Count(s, "„"), strings.Count(s, "“"))
	}
	for _, wrong := range []string{" Ihnen", " Ihr ", " Ihre ", "üben Sie", "spielen Sie"} {
		if strings.Contains(s, wrong) {
			t.Errorf("somebody is addressed as Sie: %q", wrong)
		}
	}
}
