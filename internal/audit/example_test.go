package audit_test

import (
	"fmt"

	"gradatim/internal/audit"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// A left-hand tenth is too wide for the default hand unless it is rolled.
func ExampleCheck() {
	c, e := theory.Name{Letter: theory.C}, theory.Name{Letter: theory.E}
	s := score.Score{
		Bars: []score.Bar{{Dur: theory.Whole, Meter: leadsheet.Meter{Beats: 4, Unit: 4}, Number: 1}},
		Notes: []score.Note{
			{ID: "low", Hand: score.Left, Voice: 1, Dur: theory.Whole, Pitch: c.At(3)},
			{ID: "high", Hand: score.Left, Voice: 1, Dur: theory.Whole, Pitch: e.At(4)},
		},
	}
	for _, v := range audit.Check(s, audit.Options{}) {
		fmt.Println(words.Must("en").Problem(v.Problem))
	}
	for i := range s.Notes {
		s.Notes[i].Marks = score.Rolled
	}
	fmt.Println(len(audit.Check(s, audit.Options{})), "violations when rolled")
	// Output:
	// bar 1, beat 1: error: the left hand cannot strike C3–E4 together: 211.5 mm, it reaches 188.0 mm [reach]; roll the chord, leave out an outer note, or give it to the other hand
	// 0 violations when rolled
}
