package teach_test

import (
	"context"
	"fmt"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/teach"
)

func ExamplePrepare() {
	song, err := gradatim.Read("step.abc", []byte("X:1\nT:Step\nM:4/4\nL:1/4\nQ:1/4=100\nK:C\n\"C\"CDEF|\"F\"A2\"G7\"GF|\"C\"E2\"Am\"C2|\"C\"C4|]\n"), 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	pages, err := edition.Make(context.Background(), song, edition.Options{Levels: ladder.Levels()[:1]})
	if err != nil {
		fmt.Println(err)
		return
	}
	ctx := context.Background()
	lesson, err := teach.Prepare(ctx, edition.Lesson(ctx, pages, hand.Default()))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, n := range lesson.Levels[0].New {
		fmt.Printf("%s: %s\n", n.Name, n.Example.Why)
	}
	for _, p := range lesson.Levels[0].Plan.Phrases {
		fmt.Printf("%s: bars %d to %d\n", p.Name, p.From, p.To)
	}
	// Output:
	// Held bass: The left hand plays F (root). The melody's A is the third of F.
	// Root and fifth: The left hand plays C (root), then G (fifth). The melody's C is the root of C.
	// Phrase 1: bars 1 to 4
}
