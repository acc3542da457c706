package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// heldRoot is the simplest honest bass: it fits every metre and any place where
// nothing else does.
var heldRoot = &Technique{
	ID: "held-root", Stage: LeftHand,
	Needs: []string{"the names of the keys"},
	Left: func(c Cell) []Figure {
		if c.Chord.Silent() {
			return nil
		}
		var out []Figure
		for _, b := range c.basses() {
			one := Figure{Say: reason.Figure("held-root"), Cost: 2,
				Tones: []Tone{{At: c.At, Dur: c.Dur(), Pitch: b, Kind: score.Bass}}}
			out = append(out, one)
			if d, ok := c.Chord.Fifth(); ok && !c.Chord.Slash && d.Alter == 0 {
				two := Figure{Say: reason.Figure("held-root.fifth"), Cost: 1, Tones: append([]Tone(nil), one.Tones...)}
				two.Tones = append(two.Tones, Tone{At: c.At, Dur: c.Dur(), Pitch: b.Up(theory.Interval{Steps: 4, Semitones: 7}), Kind: score.Chord})
				if c.Last {
					two.Cost = -2
				}
				out = append(out, two)
			}
		}
		if c.Last && c.Manner.LastChord == SpreadLast {
			for _, f := range figures(c, lastForms, reason.Figure("held-root.last"), nil) {
				f.Cost, f.Pedal = f.Cost-6, true
				out = append(out, f)
			}
		}
		return out
	},
	Recognise: recogniseHeldBass,
	Unseen:    "a note that lasts less than two beats is not held",
	Also:      []string{"ballad-spread", "one-five-eight", "open-fifths", "two-voices"}, // the last chord, opened upwards
	Drill:     ChordBasses,
}

var lastForms = forms(
	pattern{Beats: 4, Steps: "R 5 10 -"},
	pattern{Beats: 3, Steps: "R 5 10"},
	pattern{Beats: 2, Steps: "R 5 10 -"},
	pattern{Beats: 1, Steps: "R 10"},
	pattern{Beats: 2, Compound: true, Steps: "R 5 10 - - -"},
	pattern{Beats: 1, Compound: true, Steps: "R 5 10"},
)

// recogniseHeldBass finds single low notes, or a root with its fifth, that are
// held for two beats and longer with nothing else in the hand.
func recogniseHeldBass(page *sight.Page) []Finding {
	var out []Finding
	for _, p := range page.Left() {
		least := 2 * p.Pulse
		if p.Bar >= 0 && page.Score.Bars[p.Bar].Meter.Valid() {
			least = min(least, page.Score.Bars[p.Bar].Meter.Bar())
		}
		if p.Dur() < least || p.Next < p.End {
			continue
		}
		if p.Known() && p.Notes[0].Pitch.Class() != p.Chord.Lowest().Class() && p.Notes[0].Pitch.Class() != p.Chord.Root.Class() {
			continue
		}
		if p.Lone() || len(p.Notes) == 2 && p.Span() == 7 {
			out = append(out, finding("", p))
		}
	}
	return out
}
