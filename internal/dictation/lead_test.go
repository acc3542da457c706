package dictation_test

import (
	"testing"

	"gradatim/internal/dictation"
	"gradatim/internal/smf"
	"gradatim/score"
	"gradatim/theory"
)

// A tune that is struck 25 ms before its accompaniment (Goebl measured about 30, JASA
// 110(1), 2001) is written where the accompaniment stands, off the beat too, and the file's beat is
// believed.
func TestTheTuneLeads(t *testing.T) {
	const division, lead = 480, 30 // 25 ms at 150 quarters a minute
	seq := smf.Sequence{Division: division, Tempos: []smf.Tempo{{MicrosPerQuarter: 400_000}}, Meters: []smf.Meter{{Beats: 4, Unit: 4}}}
	right, left := smf.Track{Name: "Right hand"}, smf.Track{Name: "Left hand", Channel: 1}
	tune := []int{72, 74, 76, 77, 79, 77, 76, 74, 76, 72, 79, 76}
	var want []theory.Dur
	for bar := range int64(8) {
		at := bar * 4 * division
		for beat := range int64(4) {
			for i, key := range []int{48, 52, 55} {
				left.Notes = append(left.Notes, smf.Note{At: at + beat*division + int64(i)*2, Length: 440, Key: key, Velocity: 50})
			}
		}
		for i, off := range []int64{0, 480, 720, 960, 1680} {
			on := max(at+off-lead, 0)
			want = append(want, theory.Dur(at+off)*theory.Quarter/division)
			right.Notes = append(right.Notes, smf.Note{At: on, Length: 200, Key: tune[(int(bar)+i)%len(tune)], Velocity: 80})
		}
	}
	seq.Tracks = []smf.Track{right, left}
	data, err := smf.Write(seq)
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Read(data, "lead.mid")
	if err != nil {
		t.Fatal(err)
	}
	got, told, err := dictation.Of(f, dictation.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range told {
		if p.Code == "midi-beats-found" {
			t.Error(p.Code)
		}
	}
	var is []theory.Dur
	for _, n := range got.Notes {
		if n.Hand == score.Right {
			is = append(is, n.At)
		} else if n.At%theory.Quarter != 0 {
			t.Errorf("%v in the left hand at %v", n.Pitch, n.At)
		}
	}
	if len(is) != len(want) {
		t.Fatalf("%d notes of %d", len(is), len(want))
	}
	for i := range is {
		if is[i] != want[i] {
			t.Errorf("note %d at %v, written at %v", i, is[i], want[i])
		}
	}
}
