package edition_test

import (
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/idiom"
	"gradatim/internal/sharedtest"
)

// TestJumpFromTheBarBefore: where the hand is late in a bar because of what the bar
// before holds under the tune, that bar is made plainer.
func TestJumpFromTheBarBefore(t *testing.T) {
	song := load(t, sharedtest.Path(t, "data/leadsheets/oldtime/ot_red_haired_boy.abc"))
	as, err := edition.Make(t.Context(), song, edition.Options{Manner: idiom.Walk})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range as {
		if a.Failed {
			t.Errorf("level %d: %v", a.Level.Number, a.Problems.Err())
		}
	}
}
