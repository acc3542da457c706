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
	ID: "held-root", Stage: LeftHand, Rests: true,
	Needs: []string{"the names of the keys"},
	Left: func(c Cell) []Figure {
		if c.Chord.Silent() {
			return nil
		}
		var out []Figure
		hold := func(say reason.Figure, cost int, ps ...theory.Pitch) {
			f := Figure{Say: say, Cost: cost}
			for i, p := range ps {
				t := Tone{At: c.At, Dur: c.Dur(), Pitch: p, Kind: score.Chord}
				if i == 0 {
					t.Kind = score.Bass
				}
				f.Tones = append(f.Tones, t)
			}
			out = append(out, f)
		}
		fifth, has5 := c.Chord.Fifth()
		third, has3 := c.Chord.Third()
		open := has5 && !c.Chord.Slash && fifth.Alter == 0
		for _, b := range c.basses() {
			hold("held-root", 2, b)
			switch {
			case open && c.Last:
				hold("held-root.last-open", -2, b, b.Up(fifthUp))
			case open:
				hold("held-root.fifth", 1, b, b.Up(fifthUp))
			}
			if c.Last && has3 && !c.Chord.Slash && b.MIDI() >= growls && !c.sings(third) {
				hold("held-root.last-third", -3, b, b.Up(third.Interval()))
				if open {
					hold("held-root.last", -4, b, b.Up(third.Interval()), b.Up(fifthUp))
				}
			}
		}
		return out
	},
	Recognise: recogniseHeldBass,
	Unseen:    "a note that lasts less than two beats is not held",
	Also:      []string{"ballad-spread", "one-five-eight", "open-fifths", "two-voices", "shells"}, // the last chord, opened upwards
	Drill:     ChordBasses,
}

// sings tells whether the tune has a degree of the chord in the cell.
func (c *Cell) sings(d theory.Degree) bool {
	for i := range c.Melody {
		if c.Melody[i].Pitch.Class() == d.On(c.Chord.Root).Class() {
			return true
		}
	}
	return false
}

// recogniseHeldBass finds single low notes, or a root with its fifth, that are
// held for two beats and longer with nothing else of the hand under their chord in
// the bar.
func recogniseHeldBass(page *sight.Page) []Finding {
	ps := page.Left()
	with := func(p sight.Play, i int) bool {
		return i >= 0 && i < len(ps) && ps[i].Bar == p.Bar && ps[i].From == p.From && p.Known()
	}
	var out []Finding
	for i, p := range ps {
		if with(p, i-1) || with(p, i+1) {
			continue
		}
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
