package technique

import (
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// twoFeel is the line in halves with a quarter leading on.
var twoFeel = &Technique{
	ID: "two-feel", Name: "Bass in two", Level: 4, Stage: LeftHand,
	What:  "Half notes, root and fifth, with a quarter that leads to the next chord.",
	Needs: []string{"shells"},
	Left: func(c Cell) []Figure {
		pulse := c.Pulse()
		if c.Meter.Compound() || c.Chord.Silent() || c.Dur() != 4*pulse && c.Dur() != 3*pulse || c.Next.Silent() {
			return nil
		}
		var out []Figure
		for _, start := range walkStarts(c) {
			if start.Class() != c.Chord.Lowest().Class() {
				continue
			}
			if c.Dur() == 3*pulse { // in three: the root for two beats, then the way on
				for _, goal := range walkGoals(c, start.MIDI()) {
					for k, a := range approaches(c, goal) {
						if k > 4 || a.pitch == start {
							continue
						}
						out = append(out, Figure{Cost: k, Lead: goal.MIDI(), Say: reason.Then{Figure: "two-feel.three", Next: a.say}, Tones: []Tone{
							{At: c.At, Dur: 2 * pulse, Pitch: start, Kind: score.Bass},
							{At: c.At + 2*pulse, Dur: pulse, Pitch: a.pitch, Kind: score.Approach}}})
					}
				}
				continue
			}
			fifth := start.Up(fifthOf(c.Chord).Interval())
			low := fifth
			low.Octave--
			for _, five := range []theory.Pitch{low, fifth} {
				if five.MIDI() < 28 {
					continue
				}
				for _, goal := range walkGoals(c, five.MIDI()) {
					for k, a := range approaches(c, goal) {
						if k > 2 || a.pitch == five {
							continue
						}
						out = append(out, Figure{Cost: k, Lead: goal.MIDI(), Say: reason.Then{Figure: "two-feel", Next: a.say}, Tones: []Tone{
							{At: c.At, Dur: 2 * pulse, Pitch: start, Kind: score.Bass},
							{At: c.At + 2*pulse, Dur: pulse, Pitch: five, Kind: score.Bass},
							{At: c.At + 3*pulse, Dur: pulse, Pitch: a.pitch, Kind: score.Approach}}})
					}
				}
			}
		}
		return out
	},
	Recognise: recogniseTwoFeel,
	Teach: Teaching{
		How:      "Two bass notes a bar, the second a fifth away, and a step into the next bar.",
		Practise: []string{"Roots and fifths in halves; then add the leading quarter."},
		Listen:   "Wide and calm under the tune.",
		Mistakes: []string{"accenting the leading quarter"},
	},
	Drill: Drill{BassAlone, "The bass of one phrase in two."},
}
