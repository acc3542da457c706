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

// FuzzBook: a book has the tunes that the file has, each as it is read alone.
func FuzzBook(f *testing.F) {
	f.Add([]byte("X:1\nT:One\nK:C\nCDEF|\n\nX:2\nT:Two\nK:G\nz4|\n\nX:2\nK:D\nDEF\n"))
	f.Add([]byte("M:3/4\n\nX:5\r\nK:F\r\nFGA|\r\nX:\nK:C\n[CEG]4|\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<13 {
			t.Skip()
		}
		tunes := Tunes(data)
		n := 0
		seen := map[int]bool{}
		err := Book(data, "book.abc", func(e Entry) bool {
			if n >= len(tunes) || e.Heading != tunes[n] {
				t.Fatalf("tune %d is %v", n, e.Heading)
			}
			n++
			if seen[e.Number] || e.Number == 0 {
				return true
			}
			seen[e.Number] = true
			song, err := Read(data, Options{File: "book.abc", Tune: e.Number})
			if (err == nil) != (e.Err == nil) || err == nil && sameMusic(song, e.Song) != "" {
				t.Fatalf("tune %d: %v alone, %v in the book; %s", e.Number, err, e.Err, sameMusic(song, e.Song))
			}
			return true
		})
		if err == nil && n != len(tunes) {
			t.Fatalf("%d tunes of %d", n, len(tunes))
		}
	})
}
