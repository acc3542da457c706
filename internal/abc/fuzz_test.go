package abc

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"gradatim/leadsheet"
)

// musicOf cuts the header off what Write wrote.
func musicOf(out []byte) string {
	_, body, _ := bytes.Cut(out, []byte("\nK:"))
	return string(body)
}

// roundTrip reads a sheet, writes the song, reads that and compares; then writes
// once more, which must change nothing. Where no song can be had, the error must
// be a list of Problems with an Error in it.
func roundTrip(t *testing.T, data []byte) {
	t.Helper()
	s, err := Read(data, Options{})
	if err != nil {
		var ps leadsheet.Problems
		if !errors.As(err, &ps) || ps.Err() == nil {
			t.Fatalf("the error is %T: %v", err, err)
		}
		return
	}
	if err := s.Problems.Err(); err != nil {
		t.Fatalf("a song with an error: %v", err)
	}
	out := Write(s)
	again, err := Read(out, Options{})
	if err != nil {
		t.Fatalf("what was written is not read: %v\n%s", err, out)
	}
	if d := sameMusic(s, again); d != "" {
		t.Fatalf("reading and writing differ:\n%s\nin\n%s\n%s", d, data, out)
	}
	for _, p := range again.Problems {
		switch p.Code { // what a mended sheet says about its bars and words stays true
		case "bar-short", "bar-long", "chord-unknown", "chord-caution", "part-order", "rights-traditional", "tempo-old-form", "tempo-rounded", "bar-line-missing",
			"groups-found", "meter-free":
		default:
			t.Fatalf("what was written has a problem: %s\n%s", p, out)
		}
	}
	if twice := Write(again); musicOf(twice) != musicOf(out) {
		t.Fatalf("writing twice differs:\n%s\n%s", out, twice)
	}
	checkSong(t, s)
}

// checkSong states what every song must fulfil.
func checkSong(t *testing.T, s leadsheet.Song) {
	t.Helper()
	for i, b := range s.Bars {
		if b.Dur <= 0 || !b.Meter.Valid() || !b.Key.Valid() || i > 0 && b.At != s.Bars[i-1].End() || b.Pickup && i > 0 {
			t.Fatalf("bar %d: %+v", i, b)
		}
	}
	for i, n := range s.Melody {
		if n.Dur <= 0 || n.At < 0 || n.End() > s.End() || i > 0 && n.At < s.Melody[i-1].End() || n.Pitch.MIDI() < 0 || n.Pitch.MIDI() > 127 {
			t.Fatalf("note %d: %+v", i, n)
		}
	}
	for i, c := range s.Chords {
		if c.At < 0 || c.At >= s.End() || i > 0 && c.At <= s.Chords[i-1].At || c.Text == "" {
			t.Fatalf("chord %d: %+v", i, c)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, tt := range melodies {
		f.Add([]byte(plainHead + tt.music + "\n"))
	}
	for _, tt := range keyFields {
		f.Add([]byte("X:1\nM:4/4\nL:1/8\nK:" + tt.in + "\n|:\"C\"CDEF \"G7\"GABc|1d8:|2c8|]\n"))
	}
	f.Add([]byte(several))
	files, err := filepath.Glob("testdata/*.abc")
	if err != nil || len(files) == 0 {
		f.Fatal("no seeds", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 2000 {
			t.Skip("the limits have tests of their own")
		}
		roundTrip(t, data)
	})
}
