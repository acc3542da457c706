// Package corpus reads the music of the shared folder for tests. It stands apart from
// sharedtest, which the tests of the readers use as well.
package corpus

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/musicxml"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Sheet is a shared lead sheet as its file has it, not proof-read.
type Sheet struct {
	Name string // its path in data/leadsheets
	Key  string // a person's reading: "Em", "A dor", "G+D" (several), "C?" (unsure); "" unknown
	Song leadsheet.Song
}

// Sheets reads the shared lead sheets in the order of their index, which names their
// sources: the Nottingham Music Database (E. Foxley), the Tuneworks tunebook, an old-time
// tunebook and OpenEWLD. Those whose names begin with "derived/" were made from others.
func Sheets(t testing.TB) []Sheet {
	t.Helper()
	dir := sharedtest.Path(t, "data/leadsheets")
	rows, err := scoretest.Table(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	name, key := slices.Index(rows[0], "file"), slices.Index(rows[0], "key_est")
	if name < 0 || key < 0 {
		t.Fatalf("columns moved: %s", rows[0])
	}
	var out []Sheet
	for _, row := range rows[1:] {
		s := Sheet{Name: row[name], Key: row[key]}
		data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(s.Name)))
		if err != nil {
			t.Fatal(err)
		}
		if filepath.Ext(s.Name) == ".abc" {
			s.Song, err = abc.Read(data, abc.Options{File: s.Name})
		} else {
			s.Song, err = musicxml.ReadSong(data, musicxml.Options{File: s.Name})
		}
		if err != nil {
			t.Fatalf("%s: %v", s.Name, err)
		}
		out = append(out, s)
	}
	return out
}

// Accompaniment is the piano part of a song for voice and piano.
type Accompaniment struct {
	Name  string // of its file
	Score score.Score
}

// Accompaniments reads the piano parts of the shared songs (OpenScore Lieder, CC0).
func Accompaniments(t testing.TB) []Accompaniment {
	t.Helper()
	var out []Accompaniment
	for _, path := range sharedtest.Accompaniments(t) {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		a := Accompaniment{Name: filepath.Base(path)}
		if a.Score, _, err = musicxml.ReadScore(data, musicxml.Options{File: a.Name}); err != nil {
			t.Fatalf("%s: %v", a.Name, err)
		}
		out = append(out, a)
	}
	return out
}
