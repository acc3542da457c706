package teach_test

import (
	"context"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/sharedtest"
	"gradatim/internal/teach"
	"gradatim/leadsheet"
)

var update = flag.Bool("update", false, "write the golden files anew")

// tunes are the project's own, one of each kind: swing in four, a waltz, a slow
// minor tune, a compound metre.
var tunes = []string{"lantern", "harbour", "thistle", "ferry"}

// golden are those whose whole lesson is kept as text: one simple metre, one
// compound.
var golden = []string{"lantern", "ferry"}

var lessons = map[string]teach.Lesson{}
var inputs = map[string]teach.Input{}

func song(t testing.TB, name string) leadsheet.Song {
	t.Helper()
	path := filepath.Join(sharedtest.Root(), "examples", name+".abc")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := gradatim.Read(name+".abc", data, 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func inputOf(t testing.TB, s leadsheet.Song) teach.Input { return inputIn(t, "", s) }

// inputIn is what a lesson in a language is made of.
func inputIn(t testing.TB, language string, s leadsheet.Song) teach.Input {
	t.Helper()
	as, err := edition.Make(context.Background(), s, edition.Options{Language: language})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range as {
		if a.Failed {
			t.Fatalf("level %d failed: %v", a.Level.Number, a.Problems)
		}
	}
	return edition.Lesson(context.Background(), as, hand.Default())
}

func prepare(t testing.TB, in teach.Input) teach.Lesson {
	t.Helper()
	l, err := teach.Prepare(context.Background(), in)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func lessonOf(t testing.TB, name string) (teach.Input, teach.Lesson) {
	t.Helper()
	if _, ok := lessons[name]; !ok {
		inputs[name] = inputOf(t, song(t, name))
		lessons[name] = prepare(t, inputs[name])
	}
	return inputs[name], lessons[name]
}

func TestGoldens(t *testing.T) {
	for _, name := range golden {
		t.Run(name, func(t *testing.T) {
			_, l := lessonOf(t, name)
			compare(t, filepath.Join("testdata", name+".txt"), textOf(l))
		})
	}
}

// TestGermanGolden keeps a lesson in German as text; what stands around the sentences
// is the test's own, in English.
func TestGermanGolden(t *testing.T) {
	compare(t, filepath.Join("testdata", "ferry.de.txt"), textOf(prepare(t, inputIn(t, "de", song(t, "ferry")))))
}

// compare holds a text against a file, or writes the file with -update.
func compare(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s changed: run with -update and read the difference", path)
	}
}
