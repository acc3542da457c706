package gradatim_test

import (
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

// TestLeadOfSongs takes lead sheets out of songs for voice and piano (OpenScore Lieder, CC0;
// shared accompaniment_cc0): the tune is the voice's, note for note, the chords are heard in
// the piano, and what is written can be read again as the same.
func TestLeadOfSongs(t *testing.T) {
	in, all := theory.Dur(0), theory.Dur(0)
	for _, file := range sharedtest.Accompaniments(t) {
		name := filepath.Base(file)
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		voice, err := gradatim.Read(name, data, 0)
		if err != nil {
			t.Fatal(err)
		}
		song, err := gradatim.Lead(name, data)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(song.Melody) != len(voice.Melody) || len(song.Chords) < len(song.Bars)/4 {
			t.Errorf("%s: %d notes of %d, %d chords in %d bars", name, len(song.Melody), len(voice.Melody), len(song.Chords), len(song.Bars))
		}
		for i, n := range song.Melody {
			if n.Pitch != voice.Melody[i].Pitch || n.At != voice.Melody[i].At {
				t.Fatalf("%s: note %d is not the voice's", name, i)
			}
			for k, c := range song.Chords {
				end := song.End()
				if k+1 < len(song.Chords) {
					end = song.Chords[k+1].At
				}
				if n.At >= c.At && n.At < end && !c.Chord.Silent() {
					all += n.Dur
					if c.Chord.HasClass(n.Pitch.Class()) {
						in += n.Dur
					}
				}
			}
		}
		for _, f := range []gradatim.SheetFormat{gradatim.SheetABC, gradatim.SheetMusicXML} {
			text, err := gradatim.WriteSheet(song, f)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			again, err := gradatim.Read(name, text, 0)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if len(again.Melody) != len(song.Melody) || len(again.Chords) != len(song.Chords) {
				t.Errorf("%s, format %d: read again as %d notes and %d chords, not %d and %d", name, f, len(again.Melody), len(again.Chords), len(song.Melody), len(song.Chords))
			}
		}
	}
	t.Logf("the voice's notes lie in the chords heard for %.3f of their time", float64(in)/float64(all))
	if float64(in) < .7*float64(all) {
		t.Errorf("the voice's notes lie in the chords heard for %.3f of their time only", float64(in)/float64(all))
	}
}
