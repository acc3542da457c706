package notate

import (
	"fmt"
	"testing"

	"gradatim/internal/scoretest"
)

// TestOctaveLines: 8va stands over whole phrases, from their first note to their last, or not
// at all. Common practice, no source.
func TestOctaveLines(t *testing.T) {
	const low, high, mixed, deep, peak = "E5:1/4 G5:1/4 B5:1/4 G5:1/4", "E6:1/4 G6:1/4 A6:1/4 G6:1/4", "E6:1/4 G6:1/4 D6:1/4 C6:1/4", "G6:1/4 A6:1/4 G4:1/4 G6:1/4", "D6:1/4 E6:1/4 C6:1/4 D6:1/4"
	const steep = "E6:1/4 C7:1/2 G6:1/4"
	for _, tt := range []struct {
		name string
		bars [8]string // of two phrases, the second from the last note of bar 4
		want string
	}{
		{"none", [8]string{low, low, low, low, low, low, low, low}, ""},
		{"three lines in passing", [8]string{low, peak, low, low, low, peak, low, low}, ""},
		{"the second, with its upbeat", [8]string{low, low, low, "E5:3/4 A6:1/4", high, mixed, high, mixed}, "15/4–8"},
		{"a lower bar within", [8]string{high, mixed, "C6:1/4 B5:1/4 A5:1/4 C6:1/4", "E6:3/4 E5:1/4", low, low, low, low}, "0–15/4"},
		{"both", [8]string{high, mixed, high, high, high, mixed, high, high}, "0–8"},
		{"falls out of it at its end", [8]string{high, mixed, high, "E6:3/4 E5:1/4", high, mixed, "E6:1/4 G6:1/4 D6:1/4 C6:1/4", "C6:1/4 A5:1/4 G5:1/4 A4:1/4"}, "0–31/4"},
		{"the next cannot, and is as high", [8]string{high, mixed, high, "E6:3/4 E5:1/4", high, deep, high, mixed}, ""},
		{"the next cannot, but it cannot do without", [8]string{steep, mixed, steep, "E6:3/4 E5:1/4", high, deep, high, mixed}, "0–15/4"},
		{"too deep for it", [8]string{deep, high, high, "E6:3/4 E5:1/4", low, low, low, low}, ""},
	} {
		src := "title T\nmeter 4/4\nkey C\nR1"
		for _, b := range tt.bars {
			src += " " + b
		}
		s, err := scoretest.Parse(src + "\nL1 C3:1/1 C3:1/1 C3:1/1 C3:1/1 C3:1/1 C3:1/1 C3:1/1 C3:1/1\n")
		if err != nil {
			t.Fatal(tt.name, err)
		}
		s.Bars[0].PhraseStart, s.Bars[3].PhraseStart = true, true
		s.Bars[3].PhraseAt = s.Bars[3].Dur * 3 / 4
		page, _ := Of(s)
		if got := raised(page); got != tt.want {
			t.Errorf("%s: 8va over %q, want %q", tt.name, got, tt.want)
		}
	}
}

// raised lists what of a page stands under 8va.
func raised(page Page) (out string) {
	for _, b := range page.Bars {
		for _, sg := range b.Signs {
			switch sg.Kind {
			case SignOctaveUp:
				out += fmt.Sprint(sg.At, "–")
			case SignOctaveEnd:
				out += fmt.Sprint(sg.At)
			}
		}
	}
	return out
}

// Under a line an inner note may stand on two ledger lines below the staff, as written, the
// tune on one. Ours, no source.
func TestOctaveLineOverInnerNotes(t *testing.T) {
	for _, tt := range []struct{ name, music, want string }{
		{"held over", "R1 E6:1/4 G6:1/4 A6:1/4 G6:1/4 F6:1/1\nR2 r:1/1 r:1/2 A4:1/2", "0–2"},
		{"alone", "R1 E6:1/4 G6:1/4 A6:1/4 G6:1/4 F6:1/2 A4:1/2", "0–3/2"},
		{"too low", "R1 E6:1/4 G6:1/4 A6:1/4 G6:1/4 F6:1/1\nR2 r:1/1 r:1/2 G4:1/2", ""},
	} {
		page, _ := Of(scoretest.MustParse("title T\nmeter 4/4\nkey C\n" + tt.music))
		if got := raised(page); got != tt.want {
			t.Errorf("%s: 8va over %q, want %q", tt.name, got, tt.want)
		}
	}
}
