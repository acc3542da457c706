package shelf_test

import (
	"context"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"gradatim/internal/incipit"
	"gradatim/internal/shelf"
	"gradatim/leadsheet"
)

// A tune is put on a shelf and found again; a teacher chooses, takes it back and has it
// again; its rights are written down; what is made of it is recorded and published.
func Example() {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "shelf")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	at, err := shelf.ParsePlace(filepath.Join(dir, "tunes"), "", false)
	if err != nil {
		log.Fatal(err)
	}
	s, err := shelf.Create(ctx, at, shelf.Config{Author: "Ada"})
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()

	sheet := []byte("X:1\nT:Lantern\nK:F\nFGAB|")
	added, err := s.Add(ctx, shelf.Sheet{Name: "lantern.abc", Data: sheet, Source: shelf.Source{Name: "lantern.abc", Data: sheet},
		Facts: shelf.Facts{Title: "Lantern", Key: "F major", Metre: "4/4", Bars: 1, Incipit: incipit.Again("2,2,1,", "2,2,1,", "2,2,1,")}})
	if err != nil {
		log.Fatal(err)
	}
	id := added[0].Tune
	q, err := shelf.ParseQuery(`lant key:F incipit:"C D E F"`)
	if err != nil {
		log.Fatal(err)
	}
	found, err := s.Find(ctx, q)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(len(found), found[0].Title)

	for _, text := range []string{"one", "two"} {
		if _, err := s.Write(ctx, id, shelf.ChoicesHistory, []byte(text), "for the recital", -1); err != nil {
			log.Fatal(err)
		}
	}
	if _, err := s.Undo(ctx, id, shelf.ChoicesHistory); err != nil {
		log.Fatal(err)
	}
	now, _, _ := s.Current(ctx, id, shelf.ChoicesHistory)
	then, _ := s.At(ctx, id, shelf.ChoicesHistory, 2)
	fmt.Printf("%s, and it was %s\n", now, then)

	page, err := s.Keep(ctx, []byte("<score-partwise/>"))
	if err != nil {
		log.Fatal(err)
	}
	build := shelf.Build{ID: shelf.BuildID("the job", "the program", "scores"), Tune: id, What: "scores", Files: []shelf.BuiltFile{{Path: "lantern.1.musicxml", Bytes: 17, SHA256: page}}}
	if _, err := s.Record(ctx, build, "DE"); err != nil {
		fmt.Println("not yet")
	}
	if _, err := s.SetRight(ctx, id, shelf.Right{Territory: "DE", Status: leadsheet.Own}); err != nil {
		log.Fatal(err)
	}
	first, err := s.Record(ctx, build, "DE")
	fmt.Println(first, err)
	// Output:
	// 1 Lantern
	// one, and it was two
	// not yet
	// true <nil>
}
