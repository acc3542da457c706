package gradatim_test

import (
	"context"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"gradatim"
)

// Tunes are put on a shelf, and the press makes the pages of those that a query finds.
func ExampleShelf_Press() {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "shelf")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	sheet := filepath.Join(dir, "small.abc")
	if err := os.WriteFile(sheet, []byte("X:1\nT:Small\nM:4/4\nL:1/4\nK:C\n\"C\"CEGE|\"G7\"DFBG|\"C\"C4|]\n"), 0o666); err != nil {
		log.Fatal(err)
	}
	at, err := gradatim.ParseShelfPlace(filepath.Join(dir, "tunes"), "", false)
	if err != nil {
		log.Fatal(err)
	}
	s, err := gradatim.CreateShelf(ctx, at, gradatim.ShelfConfig{Author: "Ada"})
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()
	taken, err := s.Take(ctx, []string{sheet}, gradatim.TakeOptions{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(taken[0].Title)

	p, err := s.Press(ctx)
	if err != nil {
		log.Fatal(err)
	}
	plan, err := p.Plan(ctx, "small", gradatim.PressOrder{Product: gradatim.Scores, Job: gradatim.Job{Levels: []int{1}}})
	if err != nil {
		log.Fatal(err)
	}
	run, err := p.Start(ctx, plan)
	if err != nil {
		log.Fatal(err)
	}
	if err := p.Work(ctx, gradatim.PressConfig{}, nil, p.Over(run)); err != nil {
		log.Fatal(err)
	}
	b, _, err := s.Newest(ctx, taken[0].Tune, "scores own")
	if err != nil {
		log.Fatal(err)
	}
	for _, f := range b.Files {
		fmt.Println(f.Path)
	}
	// Output:
	// Small
	// ladder.json
	// small.1.json
	// small.1.mid
	// small.1.musicxml
}
