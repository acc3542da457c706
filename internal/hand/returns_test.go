package hand

import (
	"strings"
	"testing"

	"gradatim/score"
)

// A passage that returns has the fingers of the first time, whatever stands
// around it, but for its last strike.
func TestReturns(t *testing.T) {
	unlike := 0
	for _, tt := range []struct {
		what, passage string
		before, after [3]string
	}{
		{"a tune", "D5:2 C5:1 A4:1 Bb4:1 A4:1 G4:1 E4:1 F4:3",
			[3]string{"G4:0.5 A4:1.5 G4:0.5 A4:1 C5:1", "G4:1 Bb4:1 C5:1", "E4:1 F4:1 G4:1 C5:1"},
			[3]string{"C4:0.5 D4:0.5 A4:2", "A4:1 C5:1 E5:2", "D4:1 C4:3"}},
		{"over chords", "Eb4+G4+A4:1.5 G4:0.5 ^G#4 A4:1 C5:0.5 D5:0.5 F#4+C5:2",
			[3]string{"C5:1 A4:0.5 G4:0.5", "F4+Bb4:1 A4:0.5 G4:0.5", "E5:1 D5:1"},
			[3]string{"C5:1 A4:1", "^B4 C5:1 A4:1", "D4:1 E4:1"}},
		{"a scale's part", "F4:1 G4:1 A4:1 Bb4:1 C5:1 A4:1 Bb4:1 G4:1 F4:1 A4:1 C5:2",
			[3]string{"C4:1 E4:1", "D4:1 E4:1", "G4:0.5 F4:0.5 E4:1"},
			[3]string{"F5:1 E5:1", "A4:1 F4:1", "C4:2"}},
	} {
		text := ""
		var at []int // where the passage begins, in strikes
		n := 0
		for i := range tt.before {
			n += len(strings.Fields(tt.before[i]))
			at = append(at, n)
			n += len(strings.Fields(tt.passage)) + len(strings.Fields(tt.after[i]))
			text += tt.before[i] + " " + tt.passage + " " + tt.after[i] + " "
		}
		length := len(strings.Fields(tt.passage)) - freeAtEnd
		strikes := line(t, text)
		for i := range strikes {
			if i > 0 {
				strikes[i].Wait = Micros(strikes[i].At-strikes[i-1].At) * Second / Micros(strikes[len(strikes)-1].At) * 30
			}
		}
		aligned := func(w weights) bool {
			fs := newFingerer(Default(), score.Right, w).finger(strikes)
			for _, from := range at[1:] {
				if a, b := fingers(fs[at[0]:at[0]+length]), fingers(fs[from:from+length]); a != b {
					return false
				}
			}
			return true
		}
		if !aligned(standard) {
			t.Errorf("%s: %s is not fingered alike: %s", tt.what, tt.passage, fingers(newFingerer(Default(), score.Right, standard).finger(strikes)))
		}
		free := standard
		free.returns = -1 << 20
		if !aligned(free) {
			unlike++
		}
	}
	if unlike == 0 {
		t.Error("every passage is fingered alike by itself: the test shows nothing")
	}
}

// What returns too short, or otherwise, is no return.
func TestReturnsFound(t *testing.T) {
	find := func(text string) (n int) {
		f := newFingerer(Default(), score.Right, standard)
		strikes := line(t, text)
		stages := make([]stage, len(strikes))
		var pool pool
		for i := range strikes {
			f.prepare(&stages[i], &strikes[i], &pool)
			if i > 0 {
				stages[i].join = 2
			}
		}
		for i, s := range returns(stages) {
			if s >= 0 {
				n++
				if stages[i].down != stages[s].down || int(s) >= i {
					t.Errorf("%s: strike %d is no return of %d", text, i, s)
				}
			}
		}
		return n
	}
	const p = "C4:1 E4:1 D4:1 G4:1 F4:1 A4:1 G4:1 "
	for _, tt := range []struct {
		text string
		want int
	}{
		{p + "C5:1 " + p + "B4:1", 5}, // the first strike of all follows nothing
		{p + p + p, 12 + 1},           // the third goes on from the second
		{p + "C5:1 C4:1 E4:1 D4:1 G4:1 F4:1 B4:1", 0},
		{p + "C5:1 C4:2 E4:1 D4:1 G4:1 F4:1 A4:1 B4:1", 0},
		{strings.ReplaceAll(p, ":1", ":0.5") + "C5:1 " + strings.ReplaceAll(p, ":1", ":0.5"), 0},
		{"C4:1 E4:1", 0},
	} {
		if got := find(tt.text); got != tt.want {
			t.Errorf("%s: %d strikes return, want %d", tt.text, got, tt.want)
		}
	}
}
