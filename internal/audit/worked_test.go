package audit

import (
	"encoding/json"
	"os"
	"slices"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Source: tables/worked_ladder.json, the first two bars of a traditional tune
// worked out at five levels and checked there by a program of its own for span,
// low intervals, crossing, minor ninths and the melody.
func TestWorkedLadder(t *testing.T) {
	data, err := os.ReadFile(sharedtest.Path(t, "tables/worked_ladder.json"))
	if err != nil {
		t.Fatal(err)
	}
	type event struct {
		At, Dur float64
		Notes   []string
	}
	var levels []struct {
		Rung   int
		RH, LH []event
	}
	if err := json.Unmarshal(data, &levels); err != nil {
		t.Fatal(err)
	}
	if len(levels) != 5 {
		t.Fatalf("%d levels", len(levels))
	}
	chords := []string{"C:4 F:2 C:2", "C(add9):4 F(add9):2 C:2", "C6:2 Em7:2 Fmaj7:2 Cmaj7:2", "C6:2 C9/Bb:2 F6:1 F#dim7:1 C/G:2", "C6/9:2 C13:2 F6/9:2 C6/9:2"}
	for i, l := range levels {
		m := leadsheet.Meter{Beats: 4, Unit: 4}
		c := theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major}
		s := score.Score{Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 120}, Chords: readChords(t, chords[i])}
		song := leadsheet.Song{Meter: m, Key: c}
		for b := theory.Dur(0); b < 2; b++ {
			s.Bars = append(s.Bars, score.Bar{At: b * theory.Whole, Dur: theory.Whole, Meter: m, Key: c, Number: int(b) + 1})
			song.Bars = append(song.Bars, leadsheet.Bar{At: b * theory.Whole, Dur: theory.Whole, Meter: m, Key: c, Number: int(b) + 1})
		}
		notes, _ := readVoice(t, "C4:1 C4:1 G4:1 G4:1 A4:1 A4:1 G4:2", score.Right, 1)
		for _, n := range notes {
			song.Melody = append(song.Melody, leadsheet.Note{At: n.At, Dur: n.Dur, Pitch: n.Pitch})
		}
		for _, x := range readChords(t, "C:4 F:2 C:2") {
			song.Chords = append(song.Chords, leadsheet.ChordMark{At: x.At, Chord: x.Chord, Text: x.Text})
		}
		for h, events := range [][]event{l.RH, l.LH} {
			for _, e := range events {
				var keys []int
				for _, n := range e.Notes {
					keys = append(keys, pitch(t, n).MIDI())
				}
				var marks score.Marks
				if hand.Distance(slices.Min(keys), slices.Max(keys)) > 2*hand.Octave/2+hand.WhiteKey { // tenths are rolled
					marks = score.Rolled
				}
				for _, n := range e.Notes {
					s.Notes = append(s.Notes, score.Note{Hand: score.Hand(h + 1), Voice: 1, At: quarters(e.At), Dur: quarters(e.Dur), Pitch: pitch(t, n), Marks: marks})
				}
			}
		}
		if vs := Check(s.Finish(), Options{Song: &song}); len(vs) > 0 {
			t.Errorf("level %d:%s", l.Rung, lines(vs))
		}
	}
}
