package hand

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// voices is a tune of the right hand over an inner voice of the same hand, or a
// bass of the left under its own.
type voices struct {
	what        string
	quarter     int
	tune, under string // "F4!turn:2": with an ornament
	want        string // fingers of the tune; "." for one that is left open
}

var ornamentNames = map[string]score.Ornament{
	"mordent": score.Mordent, "upper": score.UpperMordent, "turn": score.Turn, "trill": score.Trill,
}

func (v voices) score(t *testing.T) score.Score {
	t.Helper()
	var plain []string
	ornaments := map[int]score.Ornament{}
	notes := 0
	for _, tok := range strings.Fields(v.tune) {
		what, length, _ := strings.Cut(tok, ":")
		what, name, has := strings.Cut(what, "!")
		if has {
			ornaments[notes] = ornamentNames[name]
		}
		if what != "r" {
			notes++
		}
		if length != "" {
			what += ":" + length
		}
		plain = append(plain, what)
	}
	s := page(t, strings.Join(plain, " "), "")
	for i, o := range ornaments {
		s.Notes[i].Ornament = o
	}
	for _, st := range line(t, v.under) {
		for _, k := range st.Keys {
			s.Notes = append(s.Notes, score.Note{Hand: score.Right, Voice: 2, At: st.At, Dur: st.End - st.At, Pitch: spelled(k)})
		}
	}
	s.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: v.quarter}
	for i := range s.Notes {
		s.Notes[i].ID = ""
	}
	return FingerScore(s.Finish(), Default())
}

func (v voices) check(t *testing.T) {
	t.Helper()
	var got []string
	for _, n := range v.score(t).Notes {
		if n.Voice == 1 {
			got = append(got, fmt.Sprint(n.Finger))
		}
	}
	want := strings.Fields(v.want)
	same := len(got) == len(want)
	for i := range want {
		same = same && i < len(got) && (want[i] == "." || strings.Contains(want[i], got[i]))
	}
	if !same {
		t.Errorf("%s: %s over %s:\n got %s\nwant %s", v.what, v.tune, v.under, strings.Join(got, " "), v.want)
	}
}

// An ornament finds fingers for its other notes, those that hold keys being taken;
// "23" is either. Common practice, no source.
func TestOrnaments(t *testing.T) {
	for _, v := range []voices{
		{"a turn alone has a finger on both sides", 100, "F4!turn:2", "", "234"},
		{"a lower mordent has one below", 100, "F4!mordent:2", "", "2345"},
		{"an upper mordent has one above", 100, "F4!upper:2", "", "1234"},
		{"a trill has one above at the top of a line", 100, "C4:1 D4:1 E4:1 F4:1 G4!trill:4", "", ". . . . 1234"},
		{"a mordent where the thumb would come", 100, "G4:1 F4:1 E4:1 D4:1 C4!mordent:4", "", ". . . . 2345"},
		{"a turn over a held third", 108, "F4!turn:3", "D4:4", "34"},
		{"a turn over a held second", 108, "A4!turn:2", "G4:2", "34"},
		{"a mordent over a held third", 108, "Bb4!mordent:1.5 A4:0.5", "F4:2", "345 ."},
		{"a mordent over three held keys", 108, "Bb4:1.5 A4:0.5 Bb4!mordent:1 D5:1", "C4+D4+F4:3", "5 4 5 ."},
	} {
		v.check(t)
	}
}

// A crushed note and its main note have neighbouring fingers, a slide off a black
// key one. Common practice, no source.
func TestGraces(t *testing.T) {
	for _, v := range []voices{
		{"crushed into a chord after a leap", 108, "C4:0.5 D4:0.5 ^A4 Bb4:1.5 A4:0.5 Bb4:1 D5:1", "r:1 F4:4", ". . 2 3 2 3 5"},
		{"slide in a line", 108, "G4:0.5 ^G#4 A4:1 C5:0.5 D5:2", "", ". 2 2 4 5"},
		{"slide over held keys", 108, "C5:1.5 Bb4:0.5 ^G#4 A4:2", "D4+F4:4", "5 4 3 3"},
		{"slide into a chord", 108, "C5:0.5 ^C#5 D5:1.5 C5:0.5 Bb4:1", "r:0.5 F4:3", ". 5 5 4 3"},
	} {
		v.check(t)
	}
	for _, v := range []voices{
		{tune: "D5:1 ^B4 C5:1 A4:1"}, {tune: "F4:1 ^A4 Bb4:1 A4:1"}, {tune: "E5:1 ^E5 F5:1 D5:1"}, {tune: "C4:1 ^D4 E4:2"},
		{tune: "D5:1 ^B4 C5:1 A4:1", under: "r:1 F4:2"}, {tune: "F4:1 ^A4 Bb4:1 A4:1", under: "D4:3"},
	} {
		v.quarter = 100
		ns := v.score(t).Notes
		for i, n := range ns {
			if n.Grace == 0 {
				continue
			}
			for _, m := range ns[i+1:] {
				if m.Voice == 1 {
					if n.Finger+1 != m.Finger {
						t.Errorf("%s over %s: %s with %d before %s with %d", v.tune, v.under, n.Pitch, n.Finger, m.Pitch, m.Finger)
					}
					break
				}
			}
		}
	}
}

// A tune over keys that are held is joined: no finger on two notes in a row where
// another lies ready. Common practice, no source.
func TestTuneOverHeldKeys(t *testing.T) {
	for _, v := range []voices{
		{"two held at the octave's bottom", 108, "A4:1.5 G4:0.5", "C4+D4:2", "5 4"},
		{"down by step", 108, "C5:1.5 Bb4:0.5 A4:2", "D4+F4:4", "5 4 3"},
		{"up by step off a chord", 108, "A4:1.5 G4:0.5 A4:1 C5:0.5 D5:1.5", "C4+D4:2 C#4+G4:1.5", "5 4 3 4 5"},
		{"over three held", 108, "Bb4:1.5 A4:0.5 Bb4:1", "C4+D4+F4:3", "5 4 5"},
		{"a line down from a held octave", 108, "D5:1 C5:1 Bb4:1 A4:1", "F4:4", "5 4 3 2"},
		{"on to a note of its own with the held one struck again", 108, "Bb4:1 A4:1 G4:1 E4:1", "F4:2 F4:1", "5 4 3 1"},
		{"the inner voice walks under a held note", 100, "G4:4", "C4:1 D4:1 E4:1 D4:1", "5"},
	} {
		v.check(t)
	}
}
