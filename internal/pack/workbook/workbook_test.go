package workbook_test

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"gradatim"
	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/pack/workbook"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

var (
	once sync.Once
	eng  *engrave.Engraver
	fail error
)

func engraver(t testing.TB) *engrave.Engraver {
	t.Helper()
	once.Do(func() { eng, fail = engrave.New(engrave.Config{}) })
	if fail != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(fail)
		}
		t.Skip(fail)
	}
	return eng
}

func example(t testing.TB, name string) leadsheet.Song {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", name+".abc"))
	if err != nil {
		t.Fatal(err)
	}
	return read(t, name+".abc", string(data))
}

func read(t testing.TB, name, abc string) leadsheet.Song {
	t.Helper()
	s, err := gradatim.Read(name, []byte(abc), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// input makes the ladder of a song and its lesson.
func input(t testing.TB, s leadsheet.Song) workbook.Input {
	t.Helper()
	as, err := gradatim.Ladder(context.Background(), s, gradatim.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in := workbook.Input{Lesson: gradatim.Lesson(as, hand.Default()), Rights: s.Rights, Program: "made for the tests"}
	for _, a := range as {
		if !a.Failed {
			in.Scores = append(in.Scores, hand.Print(a.Score, hand.Some, a.Level.Number))
		}
	}
	return in
}

func TestLook(t *testing.T) {
	dir := os.Getenv("LOOK")
	if dir == "" {
		t.Skip()
	}
	in := input(t, example(t, "lantern"))
	for name, o := range map[string]workbook.Options{"a4": {}, "large": {LargePrint: true}} {
		b, ps, err := workbook.Make(context.Background(), engraver(t), in, o)
		if err != nil {
			t.Fatal(err)
		}
		t.Log(ps)
		os.WriteFile(filepath.Join(dir, name+".pdf"), b, 0o644)
	}
}
