package dictation_test

import (
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/musicxml"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
)

// TestRealAccompaniments writes songs for voice and piano (OpenScore Lieder, CC0) to
// MIDI, voice and both hands a track each, under names that say nothing, and reads them
// back as lead sheets: the voice is found to be the tune, and chords are heard.
func TestRealAccompaniments(t *testing.T) {
	songs, right, notes, onsets := 0, 0, 0, 0
	for _, path := range sharedtest.Accompaniments(t) {
		name := filepath.Base(path)
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		solo, piano, ok := musicxml.ReadSolo(data, musicxml.Options{File: name})
		if !ok || solo.Bars[0].Dur != piano.Bars[0].Dur {
			continue // rests before the voice's pick-up, which its sheet leaves out
		}
		played, _ := piano.Played()
		q := smf.Plain(played)
		voice := smf.Track{Name: "three", Channel: 2}
		for _, n := range solo.Melody {
			voice.Notes = append(voice.Notes, smf.Note{At: int64(n.At), Length: int64(n.Dur), Key: n.Pitch.MIDI(), Velocity: 80})
		}
		q.Tracks[0].Name, q.Tracks[1].Name = "one", "two"
		q.Tracks = append(q.Tracks, voice)
		file, err := smf.Write(q)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		got, err := gradatim.Read("song.mid", file, 0)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(got.Chords) < len(got.Bars)/4 {
			t.Errorf("%s: %d chords heard in %d bars", name, len(got.Chords), len(got.Bars))
		}
		type place struct {
			at  int64
			key int
		}
		at := map[place]bool{}
		shift := int64(0)
		for _, n := range got.Melody {
			at[place{int64(n.At - got.Melody[0].At), n.Pitch.MIDI()}] = true
		}
		shift = int64(solo.Melody[0].At)
		found := 0
		for _, n := range solo.Melody {
			if at[place{int64(n.At) - shift, n.Pitch.MIDI()}] {
				found++
			}
		}
		songs++
		if 10*found > 8*len(solo.Melody) {
			right++
			notes += len(solo.Melody)
			onsets += found
		} else {
			t.Logf("%s: another line was taken for the tune: %d of %d notes", name, found, len(solo.Melody))
		}
	}
	t.Logf("%d songs; the voice was found in %d; of its %d notes %.2f %% came back", songs, right, notes, 100*float64(onsets)/float64(max(1, notes)))
	if songs < 15 || 10*right < 9*songs || 100*onsets < 98*notes {
		t.Errorf("%d songs, voice found in %d, %d of %d notes", songs, right, onsets, notes)
	}
}
