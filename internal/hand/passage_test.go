package hand

import (
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// passage is music of one hand at a tempo, as a page has it.
type passage struct {
	what    string
	hand    score.Hand
	quarter int // to the minute
	text    string
	want    string // "." for a finger that is left open
}

func (p passage) fingers(t *testing.T) string {
	t.Helper()
	right, left := p.text, ""
	if p.hand == score.Left {
		right, left = left, right
	}
	s := page(t, right, left)
	s.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: p.quarter}
	var fs []Fingering
	last := theory.Dur(-1)
	for _, n := range FingerScore(s, Default()).Notes {
		if n.At != last {
			fs = append(fs, Fingering{})
		}
		last = n.At
		f := &fs[len(fs)-1]
		f.Keys = append(f.Keys, n.Finger)
	}
	return fingers(fs)
}

// Passages that a teacher has marked; common practice, no source.
func TestPassages(t *testing.T) {
	const upbeat = "C4:0.5 D4:0.5 Bb4:1.5 A4:0.5 Bb4:1 D5:1 C5:3 A4:0.5 G4:0.5"
	for _, p := range []passage{
		{"the hand leaps down and opens upwards", score.Left, 112,
			"G2:0.5 D3:0.5 A3:0.5 B3:1.5 E2:0.5 B2:0.5 G3:0.5 A3:1.5 A2:0.5 E3:0.5 C4:0.5 D4:1.5",
			"5 . . . 5 2 1 . 5 2 1 ."},
		{"the bass takes the position of its chord", score.Left, 120,
			"G3:1 Bb3+D4:1 C3:1 E3+G3:1 F3:2 A3+C4:2 A3:1 C4+E4:1 A3:1 C4+E4:1",
			". . 5 31 5 31 5 31 5 31"},
		{"no neighbours on a slow fourth", score.Left, 88,
			"F3:2 C4:2 Bb3:2 F3:2 G3:2 D3:2 C3:2 G3:2", "5 1 2 4 . 4 5 1"},
		{"a third within a fifth", score.Left, 100,
			"A3+E4:2 C4:2 A3+E4:2 C4:2 G3+D4:2 B3:2 A3+E4:2 C4:2", "51 3 51 3 51 3 51 3"},
		{"the same before a long rest", score.Left, 72,
			"A2:1 C#3+E3:1 A2:1 C#3+E3:1 D3:2 F3+A3:2", "5 31 5 31 5 31"},
		{"a broken triad and back", score.Left, 78,
			"Bb2:1.5 D3+F3:1.5 C3:1.5 F3:1.5 Bb3:0.5 D4:0.5 F4:0.5 Bb3:1.5", "5 31 . . 5 3 1 5"},
		{"no thumb on a step down from the little finger", score.Right, 120,
			"F4:3 " + upbeat, ". . . 3 2 3 5 . . ."},
		{"four steps down, then a new place", score.Right, 120,
			"D5:3 F5:1 D5:1 C5:1 Bb4:1 A4:1 G4:3 C4:0.5 D4:0.5 A4:1.5 G4:0.5", ". . 4 3 2 1 5 1 2 5 4"},
		{"off a long note, the next ones in one place", score.Right, 72,
			"A4:1 C5:1 F5:2 D5:3 C5:1 Bb4:1 A4:1 G4:1 Bb4:1 A4:2 F4:2", ". . 5 5 4 3 2 1 . . ."},
	} {
		got, want := p.fingers(t), p.want
		g, w := strings.Fields(got), strings.Fields(want)
		same := len(g) == len(w)
		for i := range w {
			same = same && i < len(g) && (w[i] == "." || g[i] == w[i])
		}
		if !same {
			t.Errorf("%s: %s:\n got %s\nwant %s", p.what, p.text, got, want)
		}
	}
}

// Thumb and fourth or little finger do not stand on neighbouring keys, however
// the line turns, and nothing is repeated on another key in haste.
func TestNoCramp(t *testing.T) {
	lines := []string{
		"D5:1 C5:1 Bb4:1 A4:1 G4:3", "Bb4:1 A4:1 Bb4:1 D5:1 C5:2", "D5:1 C5:0.5 Bb4:1 A4:0.5 G4:2",
		"C4:1 G4:1 A4:1 G4:1 C5:1 B4:1 C5:1 G4:1 F4:1 G4:1 E4:2", "E4:1 F4:1 C5:1 D5:1 E5:1 D5:1 G4:1 A4:2",
		"G4:0.5 C5:0.5 B4:0.5 C5:0.5 D5:0.5 A4:0.5 Bb4:0.5 A4:0.5 F4:1", "D4:0.5 Bb4:0.5 A4:0.5 D5:0.5 C5:0.5 F4:0.5 E4:1",
	}
	for _, h := range []score.Hand{score.Right, score.Left} {
		for _, text := range lines {
			for _, tempo := range []int{48, 72, 100, 144, 208} {
				p := passage{hand: h, quarter: tempo, text: text}
				fs := strings.Fields(p.fingers(t))
				strikes := line(t, text)
				f := newFingerer(Default(), h, standard)
				for i := 1; i < len(fs); i++ {
					a, b := int(fs[i-1][0]-'0'), int(fs[i][0]-'0')
					d := f.way(strikes[i-1].Keys[0], strikes[i].Keys[0])
					if a > b {
						a, b, d = b, a, -d
					}
					if a == 1 && b >= 4 && (d == 1 || d == 2) {
						t.Errorf("%s at %d, %s hand: %s", text, tempo, h, strings.Join(fs, " "))
					}
					if a == b && d != 0 && tempo >= 100 && d <= 4 && d >= -4 {
						t.Errorf("%s at %d, %s hand: one finger on two keys: %s", text, tempo, h, strings.Join(fs, " "))
					}
				}
			}
		}
	}
}
