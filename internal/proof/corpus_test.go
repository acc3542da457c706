package proof_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/musicxml"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// sheet is one of the shared sheets.
type sheet struct {
	path string
	song leadsheet.Song
}

// sheets reads the shared sheets.
func sheets(t testing.TB) []sheet {
	t.Helper()
	dir := sharedtest.Path(t, "data/leadsheets")
	index, err := os.ReadFile(filepath.Join(dir, "index.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	var out []sheet
	for _, line := range strings.Split(strings.TrimSpace(string(index)), "\n")[1:] {
		path, _, _ := strings.Cut(line, "\t")
		data, err := os.ReadFile(filepath.Join(dir, path))
		if err != nil {
			t.Fatal(err)
		}
		song, err := read(data, path)
		if err != nil {
			t.Fatal(path, err)
		}
		out = append(out, sheet{path, song})
	}
	return out
}

func read(data []byte, name string) (leadsheet.Song, error) {
	if bytes.HasPrefix(data, []byte("PK")) || bytes.HasPrefix(data, []byte("<")) {
		return musicxml.ReadSong(data, musicxml.Options{File: name})
	}
	return abc.Read(data, abc.Options{File: name})
}
