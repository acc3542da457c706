package hand_test

import (
	"testing"

	"gradatim/internal/hand"
	"gradatim/score"
	"gradatim/theory"
)

// line is a tune in one voice of the right hand, in quarters, under one slur.
func line(names ...string) score.Score {
	var s score.Score
	for i, name := range names {
		p, err := theory.ParsePitch(name)
		if err != nil {
			panic(err)
		}
		n := score.Note{Hand: score.Right, Voice: 1, At: theory.Dur(i) * theory.Quarter, Dur: theory.Quarter, Pitch: p, Origin: score.Origin{Kind: score.Melody}}
		switch i {
		case 0:
			n.Marks = score.SlurFrom
		case len(names) - 1:
			n.Marks = score.SlurTo
		}
		s.Notes = append(s.Notes, n)
	}
	s.Bars = []score.Bar{{Dur: theory.Dur(len(names)) * theory.Quarter, Number: 1}}
	return s.Finish()
}

// Under a slur the hand stays on the keys: each finger has the next key, whatever the
// line. (Common practice, no source.)
func TestSlurIsJoined(t *testing.T) {
	for _, names := range [][]string{
		{"C4", "E4", "G4", "C5", "B4", "A4", "G4", "F4", "E4", "D4", "C4"},
		{"G4", "F4", "E4", "D4", "C4", "B3", "A3", "G3", "A3", "B3", "C4"},
		{"C5", "D5", "E5", "F5", "G5", "A5", "B5", "C6", "G5", "E5", "C5"},
		{"E4", "D#4", "E4", "D#4", "E4", "B3", "D4", "C4", "A3"},
	} {
		s := hand.FingerScore(line(names...), hand.Profile{})
		for i, n := range s.Notes[1:] {
			b := s.Notes[i]
			step := n.Pitch.Staff() - b.Pitch.Staff()
			if n.Finger == b.Finger || (step == 1 || step == -1) && n.Finger+b.Finger == 6 && n.Finger != 3 && (n.Finger == 1 || b.Finger == 1) {
				t.Errorf("%v: %d on %s, then %d on %s", names, b.Finger, b.Pitch, n.Finger, n.Pitch)
			}
		}
	}
}

// Where one finger has two keys, the slur ends before the second and another begins; of
// one note there is none.
func TestPartSlurs(t *testing.T) {
	for _, tt := range []struct{ fingers, want string }{
		{"12345", "(---)"},
		{"12234", "()(-)"},
		{"11234", ".(--)"},
		{"12344", "(--)."},
		{"11111", "....."},
	} {
		s := line("C4", "D4", "E4", "F4", "G4")
		for i := range s.Notes {
			s.Notes[i].Finger = tt.fingers[i] - '0'
		}
		got := ""
		open := false
		for _, n := range hand.PartSlurs(s).Notes {
			switch from, to := n.Marks.Has(score.SlurFrom), n.Marks.Has(score.SlurTo); {
			case from && to:
				got += "x"
			case from:
				got, open = got+"(", true
			case to:
				got, open = got+")", false
			case open:
				got += "-"
			default:
				got += "."
			}
		}
		if got != tt.want {
			t.Errorf("fingers %s: slurs %s, want %s", tt.fingers, got, tt.want)
		}
	}
}
