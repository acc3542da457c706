package pack_test

import (
	"os"
	"path/filepath"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/pack"
	"gradatim/internal/sharedtest"
	"gradatim/internal/words"
)

// Whatever is said of a tune at any level is in the fonts that go along.
func TestLessonsNeedNoOtherFont(t *testing.T) {
	tunes, err := filepath.Glob(filepath.Join(sharedtest.Root(), "examples", "*.abc"))
	if err != nil || len(tunes) < 3 {
		t.Fatal(tunes, err)
	}
	if testing.Short() {
		tunes = tunes[:1]
	}
	for _, tune := range tunes {
		abc, err := os.ReadFile(tune)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range words.Languages() {
			if got := pack.LessonLacks(t, inputOf(t, read(t, string(abc)), "1-5", edition.Options{Language: id})); len(got) > 0 {
				t.Errorf("%s: the lesson in %s says %v", filepath.Base(tune), id, got)
			}
		}
	}
}
