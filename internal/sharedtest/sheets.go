package sharedtest

import (
	"path/filepath"
	"slices"
	"testing"
)

// Sheets lists the 160 shared lead sheets, sorted by path (Foxley's Nottingham
// collection, Tuneworks, old-time tunes, OpenEWLD and derived keys; licences in their
// README).
func Sheets(t testing.TB) []string {
	t.Helper()
	return files(t, 160, "data/leadsheets", "*", "*.*")
}

// Accompaniments lists the 21 shared songs for voice and piano (OpenScore Lieder, CC0),
// sorted by path.
func Accompaniments(t testing.TB) []string {
	t.Helper()
	return files(t, 21, "data/accompaniment_cc0", "*.mxl")
}

// files lists so many files of a shared folder.
func files(t testing.TB, n int, dir string, pattern ...string) []string {
	t.Helper()
	out, err := filepath.Glob(filepath.Join(append([]string{Path(t, dir)}, pattern...)...))
	if err != nil || len(out) != n {
		t.Fatalf("%d files in %s, want %d: %v", len(out), dir, n, err)
	}
	slices.Sort(out)
	return out
}
