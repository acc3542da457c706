package musicxml_test

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/musicxml"
	"gradatim/internal/notate"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// TestSheets writes every lead sheet of the shared corpora (their sources stand
// in its README) as a lead sheet of ours: nothing has to be written otherwise
// than it sounds, the melody and the known chords come back the same, and
// xmllint finds every twentieth file valid by the XSD of MusicXML 4.0.
func TestSheets(t *testing.T) {
	root := sharedtest.Path(t, "data/leadsheets")
	n := 0
	dir := t.TempDir()
	var args []string
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		var song leadsheet.Song
		switch filepath.Ext(p) {
		case ".abc":
			song, err = abc.Read(data, abc.Options{File: filepath.Base(p)})
		case ".mxl", ".xml", ".musicxml":
			song, err = musicxml.ReadSong(data, musicxml.Options{File: filepath.Base(p)})
		default:
			return nil
		}
		if err != nil {
			t.Errorf("%s: %v", p, err)
			return nil
		}
		n++
		if _, problems := notate.Song(song); len(problems) > 0 {
			t.Errorf("%s: %v", filepath.Base(p), problems)
		}
		out, err := musicxml.WriteSong(song)
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(p), err)
			return nil
		}
		back, err := musicxml.ReadSong(out, musicxml.Options{})
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(p), err)
			return nil
		}
		same(t, filepath.Base(p), song, back)
		if n%20 == 0 {
			file := filepath.Join(dir, filepath.Base(p)+".musicxml")
			if err := os.WriteFile(file, out, 0o644); err != nil {
				return err
			}
			args = append(args, file)
		}
		return nil
	})
	if err != nil || n != 160 {
		t.Fatalf("%d sheets, %v", n, err)
	}
	args = append([]string{"--noout", "--nonet", "--schema", musicxml.Schema(t)}, args...)
	if out, err := exec.Command(sharedtest.Tool(t, "xmllint"), args...).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}

func same(t *testing.T, name string, want, got leadsheet.Song) {
	t.Helper()
	if len(got.Bars) != len(want.Bars) || len(got.Melody) != len(want.Melody) {
		t.Errorf("%s: %d bars, %d notes; want %d, %d", name, len(got.Bars), len(got.Melody), len(want.Bars), len(want.Melody))
		return
	}
	for i, n := range want.Melody {
		if g := got.Melody[i]; g.At != n.At || g.Dur != n.Dur || g.Pitch != n.Pitch || !slices.Equal(g.Graces, n.Graces) {
			t.Errorf("%s: note %d is %v at %s for %s, want %v at %s for %s", name, i, g.Pitch, g.At, g.Dur, n.Pitch, n.At, n.Dur)
			return
		}
	}
	var chords []leadsheet.ChordMark
	for _, c := range want.Chords {
		if !c.Unknown {
			chords = append(chords, c)
		}
	}
	if len(chords) != len(got.Chords) {
		t.Errorf("%s: %d chords, want %d", name, len(got.Chords), len(chords))
		return
	}
	for i, c := range chords {
		if g := got.Chords[i]; g.At != c.At || g.Chord != c.Chord {
			t.Errorf("%s: chord %s at %s, want %s at %s", name, g.Chord, g.At, c.Chord, c.At)
		}
	}
	if !strings.EqualFold(strings.Join(strings.Fields(got.Title), " "), strings.Join(strings.Fields(want.Title), " ")) {
		t.Errorf("%s: title %q, want %q", name, got.Title, want.Title)
	}
}
