package hand

import (
	"strings"
	"testing"

	"gradatim/score"
)

// Shapes as they are taught: "/" between fingers that are as good. Common practice,
// no source.
func TestShapes(t *testing.T) {
	for _, p := range []passage{
		{"triads and their inversions in a row", score.Right, 80,
			"F4+A4+C5:1 A4+C5+F5:1 C5+F5+A5:1 A4+C5+F5:1 G4+Bb4+D5:1 Bb4+D5+G5:1 D5+G5+Bb5:1 Bb4+D5+G5:1",
			"135 125 135 125 135 125 135 125"},
		{"the same on white keys", score.Right, 108,
			"C4+E4+G4:1 E4+G4+C5:1 G4+C5+E5:1 E4+G4+C5:1 C4+E4+G4:4", "135 125 135 125 135"},
		{"the same, left", score.Left, 80,
			"C3+E3+G3:1 E3+G3+C4:1 G3+C4+E4:1 E3+G3+C4:1", "531 531 521 531"},
		{"a triad that moves by step", score.Right, 108,
			"D4+F4+Bb4:1 B3+F4+A4:1 D4+F#4+A4:2", "125/135 125/135 135"},
		{"thirds in the left hand", score.Left, 108,
			"F3+A3:2 F3+A3:1 r:1 Bb3+D4:2 Bb3+D4:1 r:1 G3+Bb3:2 G3+Bb3:1", "53/31/42 53/31/42 53/31/42 53/31/42 53/31/42 53/31/42"},
		{"a fourth that falls to a third over one bass", score.Left, 108, "C3+F3:2 C3+E3:2", "52 53"},
		{"a bass and its triad", score.Left, 108,
			"D3:1 F#3+A3:1 D3:1 F#3+A3:1 G3:1 Bb3+D4:1 C3:1 E3+G3:1 F3:2 A3+C4:1", "5 31 5 31 5 31 5 31 5 31"},
		{"a bass and its third and seventh", score.Left, 108, "F3:1.5 A3+Eb4:2.5 D3:1.5 F#3+C4:2.5", "5 31 5 31"},
		{"root and fifth", score.Left, 108,
			"D3:2 A3:2 G3:2 D4:2 C3:2 G3:2 F3:2 C4:2 Bb3:2 F4:2 G3:2 D4:2",
			"5 1/2 5 1/2 5 1/2 5 1/2 5 1/2 5 1/2"},
		{"root and fifth, slow", score.Left, 60, "G3:3 D4:3 Bb2:3 F3:3 Eb3:3 Bb3:3", "5 1/2 5 1/2 5 1/2"},
		{"a chord repeated", score.Left, 80, "G3+Bb3:1 G3+Bb3:0.5 G3+Bb3:1 G3+Bb3:0.5 C3+Bb3:1", "42/53 42/53 42/53 42/53 51"},
		{"a bass within one hand", score.Left, 108, "F2:4 Bb2:4 G2:4 C3:4", "5 2 4 1"},
		{"a bass that falls by a fourth and rises", score.Left, 72, "G3:2 D3:1 G3:2 D3:1", "1/2 5 1/2 5"},
		{"a bass that leaps by octaves", score.Left, 72, "F3:4 F2:4 G3:4 G2:4", "1/5 5 1/5 5"},
		{"sixths among single notes", score.Right, 84, "B4:1 C#4+A4:1 A4:0.5 B4:0.5 D5:1", "5 14/15 2 3 5"},
		{"tritones after a far bass", score.Left, 108, "A1+A2:1 C4+Gb4:1 Eb2:1 C4+Gb4:1 B1+B2:1 D3+Ab3:1 F2:1 D3+Ab3:1",
			"51 31/21/41/51 5 31/21/41/51 51 31/21/41/51 5 31/21/41/51"},
		{"a second and a wide gap", score.Left, 108, "A2:2 D3+E3+C4:2 D3:1 E3+F#3+A3:1", "5 541 5 431/321"},
		{"a second and a wide gap, right", score.Right, 108, "C4+G4+A4:2", "145"},
		{"rolled tenths", score.Left, 108, "~F2+A3:4 ~A2+C4:4 ~Bb2+D4:4 ~D3+F#4:4", "51 51 51 51"},
	} {
		got := p.fingers(t)
		g, w := strings.Fields(got), strings.Fields(p.want)
		same := len(g) == len(w)
		for i := range w {
			ok := false
			for _, x := range strings.Split(w[i], "/") {
				ok = ok || i < len(g) && g[i] == x
			}
			same = same && ok
		}
		if !same {
			t.Errorf("%s: %s:\n got %s\nwant %s", p.what, p.text, got, p.want)
		}
	}
}

// A chord that returns after another bass has its fingers of before.
func TestChordAgain(t *testing.T) {
	for _, text := range []string{
		"D3:1 E3+F#3+C4:1 A2:1 E3+F#3+C4:1", "D3:1 Eb3+F#3+C4:1 A2:1 Eb3+F#3+C4:1",
		"F2:1 D3+G3+A3:1 C2:1 D3+G3+A3:1", "A2:1 G3+C4+E4:1 E2:1 G3+C4+E4:1",
	} {
		got := strings.Fields(passage{hand: score.Left, quarter: 120, text: text}.fingers(t))
		if got[1] != got[3] {
			t.Errorf("%s: %s", text, strings.Join(got, " "))
		}
	}
}
