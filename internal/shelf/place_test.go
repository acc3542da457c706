package shelf

import (
	"path/filepath"
	"testing"

	"gradatim/internal/sharedtest"
)

// placeOn is a place for a shelf of the test's own.
func placeOn(t *testing.T, engine string) Place {
	t.Helper()
	if engine == "embedded" {
		at, err := ParsePlace(filepath.Join(t.TempDir(), "shelf"), "", false)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	at, err := ParsePlace(sharedtest.Postgres(t), t.TempDir(), true)
	if err != nil {
		t.Fatal(err)
	}
	return at
}
