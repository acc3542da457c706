package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// thirdOrSixth puts one chord tone under the notes that close a phrase.
var thirdOrSixth = &Technique{
	ID: "third-or-sixth", Stage: RightHand,
	Needs: []string{"plain-triads"},
	Right: func(c Cell) []Figure {
		if !c.Closes {
			return nil
		}
		var m *MelodyNote
		for i := range c.Melody {
			if n := &c.Melody[i]; n.At >= c.At && (c.Last || n.End-n.At >= c.Meter.BeatDur()) { // the last chord has its third however short it is
				m = n
			}
		}
		if m == nil {
			return nil
		}
		var out []Figure
		for d := range c.Chord.Tones.All() {
			if d == c.Added || d.Number == 7 {
				continue
			}
			p := d.On(c.Chord.Root).Below(m.Pitch.MIDI() - 1)
			gap := m.Pitch.MIDI() - p.MIDI()
			third := gap == 3 || gap == 4
			if !third && gap != 8 && gap != 9 || third && p.MIDI() < 60 {
				continue
			}
			say := reason.Figure("third-or-sixth.third")
			cost := 0
			if !third {
				say, cost = reason.Figure("third-or-sixth.sixth"), 1
			}
			out = append(out, Figure{Cost: cost, Say: say, Tones: []Tone{{At: m.At, Dur: min(m.End, c.End) - m.At, Pitch: p, Kind: score.Chord}}})
		}
		return out
	},
	Recognise: recogniseThirds,
	Also:      []string{"guide-tones"}, // where the chord has a seventh
	Drill:     PairedScale,
	Scale: OnScale{From: 67, Put: func(s ScaleNote) (Adorned, bool) {
		say, steps := reason.Figure("third-or-sixth.third"), 2
		if s.Back {
			say, steps = "third-or-sixth.sixth", 5
		}
		return s.with(s.below(steps), score.Chord, say), true
	}},
}

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}

// inKey tells whether a chord degree on a root belongs to a key.
func inKey(k theory.Key, root theory.Name, d theory.Degree) bool { return k.Contains(d.On(root)) }

// recogniseThirds finds right-hand pairs a third or a sixth apart.
func recogniseThirds(page *sight.Page) []Finding {
	var out []Finding
	for _, p := range page.Right() {
		if len(p.Notes) != 2 {
			continue
		}
		switch p.Span() {
		case 3, 4, 8, 9:
			out = append(out, finding("", p))
		}
	}
	return out
}
