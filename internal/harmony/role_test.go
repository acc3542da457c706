package harmony

import (
	"fmt"
	"testing"
)

// roleRows: the definitions of non-chord tones as any harmony course gives them,
// from memory. note is the index of the note in question.
var roleRows = []struct {
	text   string
	note   int
	want   RoleKind
	degree string
}{
	{"[C] C4:1/4 E4:1/4 G4:1/4 C5:1/4", 1, ChordTone, "3"},
	{"[C7] C4:1/4 E4:1/4 G4:1/4 Bb4:1/4", 3, ChordTone, "b7"},
	{"[C/D] D4:1/2 E4:1/2", 0, ChordTone, "9"}, // the slash bass sounds
	{"[C] C4:1/4 D4:1/4 E4:1/2", 1, PassingTone, "9"},
	{"[C] E4:1/4 F4:1/4 G4:1/2", 1, PassingTone, "11"},
	{"[C] G4:1/4 A4:1/8 B4:1/8 C5:1/2", 2, PassingTone, "7"},
	{"[C] E4:3/8 Eb4:1/8 D4:1/4 C4:1/4", 1, PassingTone, "#9"}, // by sound: a ♭3 beside a 3 is ♯9
	{"[C] E4:1/4 F4:1/4 E4:1/2", 1, Neighbour, "11"},
	{"[C] C4:1/4 B3:1/4 C4:1/2", 1, Neighbour, "7"},
	{"[C] C4:1/4 D4:1/8 B3:1/8 C4:1/2", 1, Neighbour, "9"}, // changing tones
	{"[C] C4:1/4 D4:1/8 B3:1/8 C4:1/2", 2, Neighbour, "7"},
	{"[C] E4:1/4 F4:1/8 D4:1/8 E4:1/2", 1, Neighbour, "11"},
	{"[C] E4:1/4 F4:1/8 C#4:1/8 E4:1/2", 1, Escape, "11"}, // a third below is no changing tone
	{"[C] E4:1/4 D4:1/2 C4:1/4", 1, TensionTone, "9"},     // dwelt on, though it passes
	{"[C] E4:1/4 F4:1/2 G4:1/4", 1, PassingTone, "11"},    // dwelt on, and none the better for it
	{"[C] C4:1/4 A4:1/8 G4:5/8", 1, Neighbour, "13"},      // incomplete: weak, by leap, then by step
	{"[C] C4:1/2 G4:1/2 | [G] C5:1/8 B4:7/8", 2, Appoggiatura, "11"},
	{"[Am] A4:1/2 C5:1/2 | [C] F4:1/4 E4:3/4", 2, Appoggiatura, "11"},
	{"[C] E4:1/4 F4:1/8 C4:5/8", 1, Escape, "11"},
	{"[F] C5:1/2 F4:1/2 | [G] F4:1/4 E4:1/4 D4:1/2", 2, Suspension, "b7"}, // over a plain G
	{"[F] C5:1/2 F4:1/2 | [G7] F4:1/4 E4:1/4 D4:1/2", 2, ChordTone, "b7"},
	{"[F] A4:1/2 C5:1/2 | [G] C5:1/4 B4:3/4", 2, Suspension, "11"},
	{"[C] E4:1/2 D4:3/8 C4:1/8 | [F] C4:1", 2, ChordTone, "1"},
	{"[G] B4:1/2 D5:3/8 C5:1/8 | [C] C5:1", 2, Anticipation, "11"},
	{"[G] D5:1/2 B4:3/8 C5:1/8~ | [C] C5:1", 2, Anticipation, "11"}, // pushed and tied
	{"[C] C4:1/2 A4:1/2 | [F] F4:1", 1, TensionTone, "13"},
	{"[Dm] F4:1/2 D4:1/2 | [Dm] E4:1", 2, TensionTone, "9"},
	{"[C] C4:1/4 F#4:1/4 Bb4:1/4 C5:1/4", 1, Free, "#11"},
	{"C4:1/1", 0, Unharmonised, ""},
	{"[NC] C4:1/1", 0, Unharmonised, ""},
	{"[H?] C4:1/1", 0, Unharmonised, ""},
}

func TestRoles(t *testing.T) {
	for _, tt := range roleRows {
		s := song(t, "4/4", "C", tt.text)
		r := Analyse(s).Roles[tt.note]
		got := ""
		if r.Kind != Unharmonised {
			got = r.Degree.String()
		}
		if r.Kind != tt.want || got != tt.degree {
			t.Errorf("%s: note %d is %s %s, want %s %s", tt.text, tt.note, r.Kind, got, tt.want, tt.degree)
		}
	}
}

func TestSuspendedInto(t *testing.T) {
	a := Analyse(song(t, "4/4", "C", "[F] C5:1~ | [G] C5:1/2 B4:1/2 | [C] C5:1"))
	if got := a.Roles[0]; got.Kind != ChordTone || got.Suspended != 1 {
		t.Errorf("tied suspension: %+v", got)
	}
	if got := a.Roles[1].Suspended; got != -1 {
		t.Errorf("B is suspended into %d", got)
	}
}

// The order of the beats of 4/4 (1, 3, then 2 and 4, then between), and that a note
// pushed ahead of a beat has its weight: common practice, no source. The numbers are ours.
// Held over two chords, a note is suspended into the last.
func TestSuspendedIntoTheLast(t *testing.T) {
	a := Analyse(song(t, "4/4", "C", "[F] C5:1/4~ [Am] C5:1/4~ [G] C5:1/4 B4:1/4 | [C] C5:1"))
	if got := a.Roles[0].Suspended; got != 2 {
		t.Errorf("suspended into span %d", got)
	}
	a = Analyse(song(t, "4/4", "C", "[F] C5:1/4~ [G] C5:1/4~ [C] C5:1/4 B4:1/4 | [C] C5:1"))
	if got := a.Roles[0].Suspended; got != -1 {
		t.Errorf("suspended into span %d, where it belongs at last", got)
	}
}

// A step goes to the next letter, an augmented second of the minor scale too, or by a half
// step whatever its spelling.
func TestSteps(t *testing.T) {
	for _, tt := range []struct {
		from, to string
		want     int
	}{{"C4", "D4", 2}, {"D4", "C4", -2}, {"B3", "C4", 1}, {"C4", "C#4", 1}, {"C#4", "Db4", 0}, {"Bb4", "C#5", 3}, {"C#5", "Bb4", -3},
		{"C4", "Eb4", 0}, {"C4", "E4", 0}, {"E4", "C4", 0}, {"C4", "C4", 0}, {"E4", "F#4", 2}, {"E4", "Gb4", 2}, {"C4", "D5", 0}} {
		s := song(t, "4/4", "C", tt.from+":1/2 "+tt.to+":1/2")
		if got := step(s.Melody[0], s.Melody[1]); got != tt.want {
			t.Errorf("%s to %s: %d, want %d", tt.from, tt.to, got, tt.want)
		}
	}
}

func TestWeight(t *testing.T) {
	s := song(t, "4/4", "C", "[C] C4:1/4 D4:1/8 E4:1/8 F4:1/4 G4:1/8 A4:1/8~ | A4:1/2 G4:1/2 | C4:1")
	var got []int
	for _, r := range Analyse(s).Roles {
		got = append(got, r.Weight)
	}
	// On beats 1, 2, 2½, 3, 4; then pushed an eighth ahead of a downbeat and held.
	if want := fmt.Sprint([]int{10, 5, 3, 8, 5, 12, 10, 16}); fmt.Sprint(got) != want {
		t.Errorf("weights %v, want %s", got, want)
	}
}

// What is suspended is held into a later chord to which it is foreign; all else is not.
func TestSuspendedIsHeldOver(t *testing.T) {
	for _, x := range tunes {
		s := song(t, x.meter, x.key, x.text)
		a := Analyse(s)
		for i, r := range a.Roles {
			n := s.Melody[i]
			if r.Suspended < 0 {
				continue
			}
			if sp := a.Spans[r.Suspended]; sp.At <= n.At || sp.At >= n.End() || sp.Chord.HasClass(n.Pitch.Class()) {
				t.Errorf("%s: %s is held over %s", x.name, n.Pitch, sp.Chord)
			}
		}
	}
	for _, text := range []string{"C4:1/2 D4:1/2", "[NC] C4:1/2 D4:1/2"} {
		for _, r := range Analyse(song(t, "4/4", "C", text)).Roles {
			if r.Suspended != -1 {
				t.Errorf("%s: suspended into %d", text, r.Suspended)
			}
		}
	}
}
