package notate_test

import (
	"strings"
	"testing"

	"gradatim/internal/notate"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// TestAlone: what is for one hand has its staff alone, and the chord symbols over it; a note
// that is written on the other staff keeps both.
func TestAlone(t *testing.T) {
	key, err := theory.ParseKey("C")
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		hand, staff score.Hand
		pitch, want string
	}{
		{score.Left, 0, "C3", "staves 1: bass"},
		{score.Right, 0, "C5", "staves 1: treble"},
		{score.Left, score.Right, "C4", "staves 2: treble, bass"},
	} {
		pitch, err := theory.ParsePitch(test.pitch)
		if err != nil {
			t.Fatal(err)
		}
		symbol, err := theory.ParseSymbol("C")
		if err != nil {
			t.Fatal(err)
		}
		s := score.Score{
			Alone:  test.hand,
			Bars:   []score.Bar{{Dur: theory.Whole, Meter: leadsheet.Meter{Beats: 4, Unit: 4}, Key: key, Number: 1}},
			Notes:  []score.Note{{Hand: test.hand, Staff: test.staff, Voice: 1, Dur: theory.Whole, Pitch: pitch}},
			Chords: []score.Symbol{{Chord: symbol.Chord}},
		}
		page, told := notate.Of(s)
		if err := told.Err(); err != nil {
			t.Fatal(err)
		}
		text := page.String()
		if !strings.HasPrefix(text, test.want+"\n") {
			t.Errorf("%s: %s, want %s", test.hand, text, test.want)
		}
		if n := len(page.Bars[0].Voices); n != page.Staves {
			t.Errorf("%s: %d voices on %d staves", test.hand, n, page.Staves)
		}
		for _, sign := range page.Bars[0].Signs {
			if page.Staves == 1 && sign.Staff != test.hand {
				t.Errorf("%s: a sign on the staff of the %s hand", test.hand, sign.Staff)
			}
		}
	}
}
