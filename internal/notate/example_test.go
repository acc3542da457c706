package notate_test

import (
	"fmt"

	"gradatim/internal/notate"
	"gradatim/internal/scoretest"
)

// A note pushed an eighth before the third beat is written as an eighth, tied
// over the middle of the bar.
func ExampleOf() {
	page, problems := notate.Of(scoretest.MustParse("meter 4/4\nkey F\nR1 A4:3/8 B4:5/8"))
	fmt.Print(page)
	fmt.Println(len(problems), "problems")
	// Output:
	// staves 2: treble, bass
	// bar 1 4/4 F major |]
	//   u1 A4:4.^ B4!:8v~ B4:2v
	//   l1 R
	// 0 problems
}
