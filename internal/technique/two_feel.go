package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// twoFeel is the line in halves with a quarter leading on.
var twoFeel = &Technique{
	ID: "two-feel", Stage: LeftHand,
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
			fifth, low := c.fifths(start)
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
	Also:      []string{"held-root"},
	Drill:     BassAlone,
}

// recogniseTwoFeel finds a bass note of two beats, in four with another of the
// chord's after it, and then one, still under the chord, that leads by step or fifth
// to the next bar's first.
func recogniseTwoFeel(page *sight.Page) []Finding {
	ps := page.Left()
	long := func(p sight.Play) bool {
		return p.Lone() && !p.Compound && p.Dur() == 2*p.Pulse && p.Next-p.At == 2*p.Pulse
	}
	leads := func(i int) bool {
		c := ps[i]
		if !c.Lone() || c.Dur() > c.Pulse {
			return false
		}
		if i+1 == len(ps) {
			return true
		}
		way := abs(ps[i+1].Low() - c.Low())
		return ps[i+1].Bar == c.Bar+1 && ps[i+1].Off == 0 && (way == 1 || way == 2 || way == 7)
	}
	var out []Finding
	for i := 0; i+1 < len(ps); i++ {
		a, b := ps[i], ps[i+1]
		if !long(a) || a.Off != 0 || a.Bar != b.Bar || a.From != b.From {
			continue
		}
		switch {
		case b.Off == 2*a.Pulse && i+2 < len(ps) && b.Lone() && a.Low() != b.Low() && ps[i+2].Bar == a.Bar && ps[i+2].From == a.From && ps[i+2].Off == 3*a.Pulse && leads(i+2):
			out = append(out, finding("", a, b, ps[i+2]))
			i += 2
		case b.Off == 2*a.Pulse && b.Next-b.At <= a.Pulse && leads(i+1) && (!b.Known() || !b.Chord.HasClass(b.Notes[0].Pitch.Class()) || b.Low()-a.Low() != 7):
			out = append(out, finding("", a, b))
			i++
		}
	}
	return out
}
