package hand_test

import (
	"fmt"

	"gradatim/internal/hand"
	"gradatim/score"
	"gradatim/theory"
)

// A teacher says which white-key interval the student plays, or measures.
func ExampleParseProfile() {
	for _, s := range []string{"octave", "8.5in", "left octave, right ninth"} {
		p, err := hand.ParseProfile(s)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Printf("left hand reaches %s\n", p.Reach(score.Left))
	}
	// Output:
	// left hand reaches 164.5 mm
	// left hand reaches 211.9 mm
	// left hand reaches 164.5 mm
}

// The same tenth is wider on some keys than on others.
func ExampleProfile_Reaches() {
	tenth, _ := hand.ParseProfile("tenth")
	const f2, a3, db3, f4 = 41, 57, 49, 65
	fmt.Println(hand.Distance(f2, a3), tenth.Reaches(score.Left, []int{f2, a3}))
	fmt.Println(hand.Distance(db3, f4), tenth.Reaches(score.Left, []int{db3, f4}), tenth.Rolls(score.Left, []int{db3, f4}))
	// Output:
	// 211.5 mm true
	// 226.2 mm false true
}

func ExampleFinger() {
	var scale []hand.Strike
	for i, key := range []int{60, 62, 64, 65, 67, 69, 71, 72} {
		at := theory.Dur(i) * theory.Eighth
		scale = append(scale, hand.Strike{At: at, End: at + theory.Eighth, Keys: []int{key}})
	}
	for _, f := range hand.Finger(hand.Default(), score.Right, scale) {
		fmt.Print(f.Keys[0], " ")
	}
	fmt.Println()
	// Output: 1 2 3 1 2 3 4 5
}
