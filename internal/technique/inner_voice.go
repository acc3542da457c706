package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// innerVoice moves by step from one chord tone to another under a long note of the tune,
// in the same hand.
var innerVoice = &Technique{
	ID: "inner-voice", Stage: RightHand, Under: UnderLong, Varies: true,
	Needs: []string{"third-or-sixth", "second-voice"},
	Right: func(c Cell) []Figure {
		var out []Figure
		for _, m := range c.Melody {
			if m.At < c.At || !c.Meter.OnBeat(m.At-c.BarAt) {
				continue
			}
			steps := c.innerSteps(min(m.End, c.End) - m.At)
			if steps == nil {
				continue
			}
			for d := range c.Chord.Tones.All() {
				if d.Number > 7 || d == c.Added {
					continue
				}
				p := d.On(c.Chord.Root).Below(m.Pitch.MIDI() - 3)
				for k, way := range innerWays {
					if f, ok := c.innerLine(m, p, way, steps); ok {
						f.Cost = k
						if gap := m.Pitch.MIDI() - p.MIDI(); gap > 9 {
							f.Cost += 2
						}
						out = append(out, f)
					}
				}
			}
		}
		return out
	},
	Recognise: recogniseInner,
	Also:      []string{"third-or-sixth", "guide-tones", "chord-fill", "echo"},
	Drill:     FromThePage,
}

// innerWay is how an inner voice goes from its first note, in steps of the scale.
type innerWay struct {
	to  [2]int // from note to note
	say reason.Figure
}

var innerWays = []innerWay{
	{[2]int{-1, -1}, "inner-voice.down"},
	{[2]int{1, 1}, "inner-voice.up"},
	{[2]int{1, -1}, "inner-voice.above"},
	{[2]int{-1, 1}, "inner-voice.below"},
}

// turn counts the bars of a tune so that neither those side by side nor those at one place of
// two phrases have the same count: what moves in them moves in another way.
func (c *Cell) turn() int {
	bar := int(c.BarAt / max(1, c.Meter.Bar()))
	return bar + bar/4
}

// innerSteps are the lengths of the three notes of an inner voice under a note of the tune
// of so many beats; nil: it is not long enough. It moves late, or in every other bar early: one
// figure in every bar is a stamp.
func (c *Cell) innerSteps(d theory.Dur) []theory.Dur {
	beat := c.Meter.BeatDur()
	early := c.turn()%2 == 1
	if c.Meter.Compound() {
		switch {
		case d < 2*beat:
			return nil
		case early:
			return []theory.Dur{beat / 3 * 2, beat / 3, d - beat}
		}
		return []theory.Dur{beat, beat / 3 * 2, d - beat - beat/3*2}
	}
	if c.Meter.Unit == 2 || c.Pulse() < beat {
		beat = c.Pulse()
	}
	switch {
	case d >= 4*beat && early:
		return []theory.Dur{beat, beat, d - 2*beat}
	case d >= 4*beat:
		return []theory.Dur{2 * beat, beat, d - 3*beat}
	case d >= 3*beat:
		return []theory.Dur{beat, beat, d - 2*beat}
	case d >= 2*beat && early:
		return []theory.Dur{beat / 2, beat / 2, d - beat}
	case d >= 2*beat:
		return []theory.Dur{beat, beat / 2, d - beat - beat/2}
	}
	return nil
}

// innerLine is an inner voice from a chord tone by two steps to another, or back.
func (c *Cell) innerLine(m MelodyNote, p theory.Pitch, way innerWay, lengths []theory.Dur) (Figure, bool) {
	f := Figure{Say: way.say}
	sc, ok := c.Key.ChordScale(c.Chord)
	at := m.At
	for i, d := range lengths {
		if i > 0 && ok {
			p, ok = nextScaleTone(c.Chord, sc, p.MIDI(), way.to[i-1])
		}
		gap := m.Pitch.MIDI() - p.MIDI()
		if !ok || gap < 3 || gap > min(12, c.Caps.Span[0]) || p.MIDI() < 55 {
			return Figure{}, false
		}
		if i != 1 && !c.Chord.HasClass(p.Class()) {
			return Figure{}, false
		}
		f.Tones = append(f.Tones, Tone{At: at, Dur: d, Pitch: p, Kind: c.voiceKind(p)})
		at += d
	}
	return f, true
}

// voiceKind is what a note of a voice is for that goes by step: of the chord, or between.
func (c *Cell) voiceKind(p theory.Pitch) score.Kind {
	if !c.Chord.HasClass(p.Class()) {
		return score.Passing
	}
	return c.kindOf(p, score.Chord)
}

// recogniseInner finds a voice of the right hand that moves by step under a note that
// stays: two of its notes at least are struck while that is held.
func recogniseInner(page *sight.Page) []Finding {
	ps := page.Right()
	var out []Finding
	for i := 0; i < len(ps); {
		top, held := ps[i].High(), ps[i].Top().End()
		j, last := i+1, ps[i].Low()
		for j < len(ps) && ps[j].At < held && ps[j].Lone() && ps[j].High() < top && abs(ps[j].Low()-last) <= 2 {
			last = ps[j].Low()
			j++
		}
		if j-i >= 3 && len(ps[i].Notes) == 2 {
			out = append(out, finding("", ps[i:j]...))
		}
		i = j
	}
	return out
}
