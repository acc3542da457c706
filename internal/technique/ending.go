package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// ending closes the piece: a full chord under the last note, spread by level.
var ending = &Technique{
	ID: "ending", Stage: LeftHand,
	Needs: []string{"shells"},
	Left: func(c Cell) []Figure {
		if !c.Last || c.Chord.Silent() {
			return nil
		}
		var out []Figure
		for _, b := range c.basses() {
			if b.MIDI() > 53 {
				continue
			}
			hold := func(say reason.Figure, cost int, rolled bool, ps ...theory.Pitch) {
				f := Figure{Say: say, Cost: cost, Pedal: true}
				for i, p := range ps {
					t := Tone{At: c.At, Dur: c.Dur(), Pitch: p, Kind: score.Chord}
					if i == 0 {
						t.Kind = score.Bass
					}
					if rolled {
						t.Marks = score.Rolled
					}
					f.Tones = append(f.Tones, t)
				}
				out = append(out, f)
			}
			fifth := b.Up(fifthOf(c.Chord).Interval())
			seventh, coloured := c.Chord.Seventh()
			switch d := fifthOf(c.Chord); {
			case c.Chord.Slash:
			case c.Manner.LastChord == RolledLast && c.Dur() > c.Pulse(): // no time to open a hand in one beat
				tenth := tenthOf(c.Chord, b)
				keys := []int{b.MIDI(), fifth.MIDI(), tenth.MIDI()}
				hold("ending.tenth", -3, !c.Hand.Reaches(score.Left, keys), b, fifth, tenth)
			case d.Alter == 0 && !coloured && b.MIDI() <= growls:
				hold("ending.octave", -2, false, b, fifth, b.Up(theory.Octave))
			}
			if coloured && !c.Chord.Slash {
				hold("ending.two", 0, false, b, b.Up(seventh.Interval()))
				hold("ending.three", -1, false, b, fifth, b.Up(seventh.Interval()))
			}
		}
		return out
	},
	Recognise: recogniseEnding,
	Closes:    true,
	Drill:     LastChords,
}

// recogniseEnding finds a last left-hand chord that is held to the end and has more than
// root and fifth: the octave with both, or another note in a wide hand.
func recogniseEnding(page *sight.Page) []Finding {
	ps := page.Left()
	if len(ps) == 0 {
		return nil
	}
	last := ps[len(ps)-1]
	if len(last.Notes) < 2 || last.End < page.Score.End() || last.Dur() < last.Pulse {
		return nil
	}
	alone := len(ps) == 1 || ps[len(ps)-2].Bar != last.Bar // and no answer to a bass
	if keys := last.Keys(); alone && len(keys) == 3 && keys[1]-keys[0] == 7 && keys[2]-keys[0] == 12 {
		return []Finding{finding("", last)}
	}
	for _, k := range last.Keys()[1:] {
		if d := (k - last.Low()) % 12; d != 0 && d != 7 {
			if last.Span() >= 9 || len(last.Notes) >= 3 && last.Span() >= 8 {
				return []Finding{finding("", last)}
			}
		}
	}
	return nil
}
