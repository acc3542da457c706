package leadsheet_test

import (
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

var fourFour = leadsheet.Meter{Beats: 4, Unit: 4}

// probe is a pick-up, a full bar and a short one, in quarters.
func probe() leadsheet.Song {
	var s leadsheet.Song
	for i, letters := range [][]theory.Letter{{theory.G}, {theory.C, theory.D, theory.E, theory.F}, {theory.G, theory.G, theory.G}} {
		b := leadsheet.Bar{At: s.End(), Dur: theory.Dur(len(letters)) * theory.Quarter, Meter: fourFour, Number: i, Written: i, Pickup: i == 0}
		for j, l := range letters {
			s.Melody = append(s.Melody, leadsheet.Note{At: b.At + theory.Dur(j)*theory.Quarter, Dur: theory.Quarter, Pitch: theory.Name{Letter: l}.At(4)})
		}
		s.Bars = append(s.Bars, b)
	}
	return s
}

func TestText(t *testing.T) {
	s := probe()
	s.Title, s.KeyDeclared = "Probe", true
	s.Key = theory.Key{Tonic: theory.Name{Letter: theory.C}, Mode: theory.Major}
	s.Meter = s.Bars[0].Meter
	for i := range s.Bars {
		s.Bars[i].Key = s.Key
	}
	s.Bars[1].Section = "A"
	s.Form = "A"
	s.Melody[1].Graces = []theory.Pitch{theory.Name{Letter: theory.B}.At(3)}
	s.Melody[1].Sung = []leadsheet.Syllable{{Verse: 1, Text: "la"}}
	s.Chords = []leadsheet.ChordMark{{At: s.Bars[1].At, Text: "qq", Unknown: true}, {At: s.Bars[2].At, Text: "N.C."}}
	s.Rights.Composers = []leadsheet.Person{{Name: "Ada Muster", Died: 1914}}
	want := `title: Probe
composer: Ada Muster (died 1914)
status: unknown
key: C major
metre: 4/4 (guessed)
form: A
  0 (1/4) | @4 G4 1/4
  1 <A> | @1 [? qq] @1 {B3} C4 1/4 "la" @2 D4 1/4 @3 E4 1/4 @4 F4 1/4
  2 (3/4) | @1 [N.C.] @1 G4 1/4 @2 G4 1/4 @3 G4 1/4
`
	if got := s.Text(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if strings.Contains(s.Text(), "feel") {
		t.Error("an unstated feel is told")
	}
}
