package abc_test

import (
	"fmt"

	"gradatim/internal/abc"
)

func ExampleRead() {
	song, err := abc.Read([]byte(`X:1
T:Two Bars
M:4/4
L:1/4
K:G
D|:"G"GB d2|"D/f+"A3 D:|
`), abc.Options{File: "two.abc"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(song.Text())
	// Output:
	// title: Two Bars
	// status: unknown
	// key: G major
	// metre: 4/4
	//   0 (1/4) | @4 D4 1/4
	//   1 | @1 [G] @1 G4 1/4 @2 B4 1/4 @3 D5 1/2
	//   2 | @1 [D/F#] @1 A4 3/4 @4 D4 1/4
	//   3 | @1 [G] @1 G4 1/4 @2 B4 1/4 @3 D5 1/2
	//   4 | @1 [D/F#] @1 A4 3/4 @4 D4 1/4
}

func ExampleWrite() {
	song, err := abc.Read([]byte("X:1\nM:3/4\nL:1/4\nK:F\n|:\"F\"FAc|1\"C7\"B2G:|2\"F\"F3|]\n"), abc.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s", abc.Write(song))
	// Output:
	// %abc-2.1
	// X:1
	// M:3/4
	// L:1/8
	// K:F
	// "F"F2A2c2| "C7"B4G2| "F"F2A2c2| "F"F6|]
}

func ExampleTunes() {
	for _, h := range abc.Tunes([]byte("X:1\nT:First\nK:C\nC4|\n\nX:2\nT:Second\nK:D\nD4|\n")) {
		fmt.Println(h.Number, h.Title)
	}
	// Output:
	// 1 First
	// 2 Second
}
