package hand_test

import (
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// line is a tune in one voice of the right hand, in quarters, under one slur, or those that
// are written: "(C4", "D4)". Other notes may stand under one of it, as in "F#4+D5".
func line(names ...string) score.Score {
	var s score.Score
	written := strings.Contains(strings.Join(names, ""), "(")
	for i, name := range names {
		keys := strings.Split(strings.Trim(name, "()"), "+")
		for j, key := range keys {
			p, err := theory.ParsePitch(key)
			if err != nil {
				panic(err)
			}
			n := score.Note{Hand: score.Right, Voice: 1, At: theory.Dur(i) * theory.Quarter, Dur: theory.Quarter, Pitch: p, Origin: score.Origin{Kind: score.Chord}}
			if j == len(keys)-1 {
				n.Origin.Kind = score.Melody
				switch {
				case written && name[0] == '(' || !written && i == 0:
					n.Marks = score.SlurFrom
				case written && name[len(name)-1] == ')' || !written && i == len(names)-1:
					n.Marks = score.SlurTo
				}
			}
			s.Notes = append(s.Notes, n)
		}
	}
	s.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 120}
	s.Bars = []score.Bar{{Dur: theory.Dur(len(names)) * theory.Quarter, Number: 1}}
	return s.Finish()
}

// tune is the notes of the line alone.
func tune(s score.Score) (out []score.Note) {
	for _, n := range s.Notes {
		if n.Origin.Kind == score.Melody {
			out = append(out, n)
		}
	}
	return out
}

// A step under a slur is taken by the finger beside the one before, or the thumb passes; a
// key that is left for one note has its finger again. What stands under the tune is no
// reason for another. (Common practice, no source.)
func TestStepsUnderSlurs(t *testing.T) {
	for _, names := range [][]string{
		{"A4", "(F#4+D5", "C#5", "D5)", "D5+F#5", "E5", "D5"},
		{"(F#4+D5", "C#5", "D5)", "D5+F#5", "E5", "B4+D5"},
		{"(F#4+A4", "B4", "A4)", "F#4+D5", "E5"},
		{"(E5", "A4+C5", "B4", "A4)", "B3+G4"},
		{"F#4+A4", "(C5", "B4", "A4)", "B3+G4"},
		{"(B4", "C#5", "D#5)", "G#4", "G#4"},
		{"(D#5", "C#5", "B4", "A#4", "G#4)"},
		{"(F#4", "G4", "A4", "D#4+B4)", "E4"},
		{"(D5", "E5", "F#5", "G5", "F#5)", "A5"},
		{"(A4", "B4", "A4", "F#4)", "D4", "D5"},
		{"(D5", "C#5", "D5)", "B4", "A4"},
		{"(E5", "D5", "E5)", "F#5", "D5", "B4", "A4"},
		{"F#5", "A5", "F#5", "(E5", "D5", "E5)", "F#5", "D5", "B4", "A4"},
		{"G4", "F#4", "G4", "(F#4", "E4", "F#4", "D4)"},
		{"(G5", "A5", "G5", "F5", "E5)"},
	} {
		ns := tune(hand.FingerScore(line(names...), hand.Profile{}))
		under := false
		for i := 1; i < len(ns); i++ {
			a, b := ns[i-1], ns[i]
			step, by := b.Pitch.Staff()-a.Pitch.Staff(), int(b.Finger)-int(a.Finger)
			under = under && !a.Marks.Has(score.SlurTo) || a.Marks.Has(score.SlurFrom)
			if step*step != 1 || !under {
				continue
			}
			passes := by*step < 0 && min(a.Finger, b.Finger) == 1 && max(a.Finger, b.Finger) < 5
			if by != step && !passes {
				t.Errorf("%v: %d on %s, then %d on %s", names, a.Finger, a.Pitch, b.Finger, b.Pitch)
			}
			if i > 1 && ns[i-2].Pitch == b.Pitch && !a.Marks.Has(score.SlurFrom) && ns[i-2].Finger != b.Finger {
				t.Errorf("%v: %d on %s, and %d when it comes back", names, ns[i-2].Finger, b.Pitch, b.Finger)
			}
		}
	}
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
