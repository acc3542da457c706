package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// bassLine is the low note and the chord above it with a bass that goes somewhere: where the
// next chord is another, the second low note leads to its bass by step (common practice, no
// source); it is a third or seventh of the chord that is struck above it. Elsewhere it is
// bassAndChord.
var bassLine = &Technique{
	ID: "bass-line", Stage: LeftHand,
	Needs:     []string{"bass-and-chord", "bass-run"},
	Left:      leadingBasses,
	Recognise: recogniseBassLine,
	Also:      []string{"bass-and-chord", "held-root", "broken-triad", "repeated-chords", "comping", "stride", "bass-run", "walking-bass"},
	Unseen:    "where the chord stays, the bass stays with it",
	Drill:     OwnBars,
}

// leadShape is when the two low notes and the chords between them are struck.
type leadShape struct {
	pulses   int
	compound bool
	chords   []int // in sixths of a pulse
	second   int
	short    int // how long each is but the first of a compound beat
}

var leadShapes = []leadShape{
	{pulses: 4, chords: []int{6, 18}, second: 12, short: 6},
	{pulses: 3, chords: []int{6}, second: 12, short: 6},
	{pulses: 2, compound: true, chords: []int{4, 10}, second: 6, short: 2},
}

func leadingBasses(c Cell) []Figure {
	out := bassAndChord.Left(c)
	for i := range out {
		out[i].Cost += 2
		if out[i].By == "" {
			out[i].By = bassAndChord.ID
		}
	}
	pulse := c.Pulse()
	if c.Last || c.Chord.Silent() || c.Next.Silent() || c.Next.Lowest() == c.Chord.Lowest() || c.Meter.Quick() {
		return out
	}
	chords := Triads(c, 48, c.High)
	for _, shape := range leadShapes {
		if shape.compound != c.Meter.Compound() || theory.Dur(shape.pulses)*pulse != c.Dur() {
			continue
		}
		for _, base := range c.basses() {
			for goal := c.Next.Lowest().Above(max(c.Low, base.MIDI()-12)); goal.MIDI() <= min(base.MIDI()+12, c.High); goal.Octave++ {
				for _, way := range []int8{1, -1} {
					line, ok := c.stepsTo(goal, way, 1)
					if !ok || line[0].Class() == base.Class() || !c.holds(line[0]) || c.against(line[0], c.At+theory.Dur(shape.second)*pulse/6) {
						continue
					}
					cost := 0
					switch d := line[0].MIDI() - base.MIDI(); {
					case abs(d) > 9:
						continue
					case d*int(way) < 0:
						cost = 2 // it turns back
					}
					for _, v := range chords {
						if v.Pitches[0].MIDI() < max(base.MIDI(), line[0].MIDI())+apart {
							continue
						}
						out = append(out, c.leadingBass(shape, base, line[0], goal, way, v, cost))
					}
				}
			}
		}
	}
	return out
}

// holds tells whether a note is one of the chord's other than its root and fifth, between
// which a bass goes that leads nowhere. What is struck on a beat under a chord is the chord's.
func (c *Cell) holds(p theory.Pitch) bool {
	d, in := c.Chord.Degree(p.Name)
	return in && d.Number != 1 && d.Number != 5
}

// against tells whether a note would stand a half step from the tune's at a moment, in any
// octave.
func (c *Cell) against(p theory.Pitch, at theory.Dur) bool {
	for _, m := range c.Melody {
		if d := (m.Pitch.Class() - p.Class() + 12) % 12; m.At <= at && m.End > at && (d == 1 || d == 11) {
			return true
		}
	}
	return false
}

func (c *Cell) leadingBass(shape leadShape, base, second, goal theory.Pitch, way int8, v Voicing, cost int) Figure {
	from := reason.ScaleUp
	if way < 0 {
		from = reason.ScaleDown
	}
	unit := c.Pulse() / 6
	f := Figure{Cost: cost + v.Cost, Tones: make([]Tone, 0, 2+len(shape.chords)*len(v.Pitches)), Lead: goal.MIDI(), Say: reason.Then{Figure: "bass-line", Next: reason.Approach{From: from, Goal: goal.Name}}}
	low := func(at int, p theory.Pitch, kind score.Kind) {
		dur := 6
		if shape.compound {
			dur = 4
		}
		f.Tones = append(f.Tones, Tone{At: c.At + theory.Dur(at)*unit, Dur: theory.Dur(dur) * unit, Pitch: p, Kind: kind})
	}
	low(0, base, score.Bass)
	for i, at := range shape.chords {
		if i == 1 {
			low(shape.second, second, score.Approach)
		}
		for _, p := range v.Pitches {
			f.Tones = append(f.Tones, Tone{At: c.At + theory.Dur(at)*unit, Dur: theory.Dur(shape.short) * unit, Pitch: p, Kind: c.kindOf(p, score.Chord)})
		}
	}
	if len(shape.chords) == 1 {
		low(shape.second, second, score.Approach)
	}
	return f
}

// recogniseBassLine finds a low note, a chord above it and a second low note, in one bar,
// that goes by step to the next bar's first.
func recogniseBassLine(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i+3 < len(ps); i++ {
		a, b, l := ps[i], ps[i+1], ps[i+2]
		if !a.Lone() || len(b.Notes) < 2 || !l.Lone() || b.Low() <= a.Low() || b.Low() <= l.Low() || a.Low() == l.Low() || a.Bar != l.Bar {
			continue
		}
		next, last := ps[i+3], i+2
		if next.Bar == l.Bar && len(next.Notes) > 1 && i+4 < len(ps) {
			next, last = ps[i+4], i+3
		}
		if d := abs(a.Low() - l.Low()); d == 5 || d == 7 { // root and fifth
			continue
		}
		if d := abs(next.Low() - l.Low()); next.Bar == l.Bar+1 && next.Off == 0 && (d == 1 || d == 2) {
			out = append(out, finding("", ps[i:last+1]...))
			i = last
		}
	}
	return out
}
