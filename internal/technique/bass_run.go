package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// bassRun joins two phrases: the bass leaves its pattern and goes by step to the first bass
// note of the next (common practice, no source; on printed pages about one phrase in eight
// ends so).
var bassRun = &Technique{
	ID: "bass-run", Stage: LeftHand,
	Needs:     []string{"root-and-fifth"},
	Left:      runs,
	Recognise: recogniseBassRun,
	Also:      []string{"held-root", "bass-and-chord", "broken-triad", "walking-bass", "two-feel", "comping", "stride", "stepping-bass"},
	Joins:     true,
	Drill:     BassAlone,
}

// runShape is how a bar is cut before and in a run, in units of a pulse's third or half.
type runShape struct {
	pulses   int
	compound bool
	chord    [2]int // when the chord after the bass is struck, and for how long; 0: none
	bass     int    // how long the bass note sounds
	steps    []int  // when the steps are struck
	cost     int
}

// Units: six to a pulse.
var runShapes = []runShape{
	{pulses: 4, bass: 6, chord: [2]int{6, 6}, steps: []int{12, 18}},
	{pulses: 4, bass: 12, steps: []int{12, 18}, cost: 1},
	{pulses: 3, bass: 6, steps: []int{6, 12}},
	{pulses: 2, bass: 6, steps: []int{6, 9}},
	{pulses: 2, compound: true, bass: 4, chord: [2]int{4, 2}, steps: []int{6, 10}},
	{pulses: 2, compound: true, bass: 6, steps: []int{6, 10}, cost: 1},
	{pulses: 2, compound: true, bass: 6, steps: []int{6, 8, 10}, cost: 1},
}

// runs lists the ways from the bass of a phrase's last chord to that of the next phrase.
func runs(c Cell) []Figure {
	pulse := c.Pulse()
	if !c.Closes || c.Last || c.Chord.Silent() || c.Next.Silent() || c.Meter.Quick() || c.Dur()%pulse != 0 {
		return nil
	}
	unit := pulse / 6
	var out []Figure
	for _, shape := range runShapes {
		if shape.compound != c.Meter.Compound() || theory.Dur(shape.pulses)*pulse != c.Dur() {
			continue
		}
		var chords []Voicing
		if chords = []Voicing{{}}; shape.chord[1] > 0 {
			chords = Triads(c, 48, c.High)
		}
		for _, base := range c.basses() {
			for goal := c.Next.Lowest().Above(max(c.Low, base.MIDI()-12)); goal.MIDI() <= min(base.MIDI()+12, c.High); goal.Octave++ {
				for _, way := range []int8{1, -1} {
					line, ok := c.stepsTo(goal, way, len(shape.steps))
					if !ok || c.doubles(line, shape.steps, unit) {
						continue
					}
					cost := shape.cost + c.turning(base, line[0], way)
					for _, v := range chords {
						if len(v.Pitches) > 0 && (v.Pitches[0].MIDI() < base.MIDI()+apart || v.Pitches[0].MIDI() <= line[0].MIDI()) {
							continue
						}
						out = append(out, c.run(shape, unit, base, v, line, goal, way, cost))
					}
				}
			}
		}
	}
	return out
}

// run lays out one way.
func (c *Cell) run(shape runShape, unit theory.Dur, base theory.Pitch, chord Voicing, line []theory.Pitch, goal theory.Pitch, way int8, cost int) Figure {
	from := reason.ScaleUp
	if way < 0 {
		from = reason.ScaleDown
	}
	f := Figure{Cost: cost + chord.Cost, Lead: goal.MIDI(), Say: reason.Then{Figure: "bass-run", Next: reason.Approach{From: from, Goal: goal.Name}}}
	f.Tones = append(f.Tones, Tone{At: c.At, Dur: theory.Dur(shape.bass) * unit, Pitch: base, Kind: score.Bass})
	for _, p := range chord.Pitches {
		f.Tones = append(f.Tones, Tone{At: c.At + theory.Dur(shape.chord[0])*unit, Dur: theory.Dur(shape.chord[1]) * unit, Pitch: p, Kind: c.kindOf(p, score.Chord)})
	}
	for i, p := range line {
		at, end, kind := c.At+theory.Dur(shape.steps[i])*unit, c.End, score.Approach
		if i+1 < len(line) {
			end, kind = c.At+theory.Dur(shape.steps[i+1])*unit, score.Passing
			if c.Chord.HasClass(p.Class()) {
				kind = score.Chord
			}
		}
		f.Tones = append(f.Tones, Tone{At: at, Dur: end - at, Pitch: p, Kind: kind})
	}
	return f
}

// stepsTo returns the last n scale steps on the way up (1) or down to a note, as the chord
// has them or the next one; ok is false where they are no steps, or too low.
func (c *Cell) stepsTo(goal theory.Pitch, way int8, n int) ([]theory.Pitch, bool) {
	line := make([]theory.Pitch, n)
	after := goal
	for i := n - 1; i >= 0; i-- {
		p := after.Up(theory.Interval{Steps: -way, Semitones: -2 * way})
		p = p.Up(theory.Interval{Semitones: c.degreeHere(p.Name) - p.Alter})
		if d := abs(after.MIDI() - p.MIDI()); d == 3 && way > 0 { // the sixth of a minor key, below its raised seventh
			p = p.Up(theory.Interval{Semitones: 1})
		}
		if d := abs(after.MIDI() - p.MIDI()); d < 1 || d > 2 || p.MIDI() < c.Low {
			return nil, false
		}
		line[i], after = p, p
	}
	return line, true
}

// degreeHere is how a letter is altered: as in the chord, else in the next, else in the key.
func (c *Cell) degreeHere(n theory.Name) int8 {
	for _, ch := range []theory.Chord{c.Chord, c.Next} {
		for d := range ch.Triad().Tones.All() {
			if m := d.On(ch.Root); m.Letter == n.Letter {
				return m.Alter
			}
		}
	}
	return c.Key.Signature(n.Letter)
}

// turning is what the way from the bass to the run costs.
func (c *Cell) turning(base, first theory.Pitch, way int8) (cost int) {
	d := first.MIDI() - base.MIDI()
	if d*int(way) < 0 {
		cost++ // it turns back
	}
	switch {
	case d == 0:
		cost += 2
	case abs(d) > 7:
		cost += 6
	case abs(d) > 4:
		cost += 2
	}
	return cost
}

// doubles tells whether two steps sound the tune's own notes.
func (c *Cell) doubles(line []theory.Pitch, at []int, unit theory.Dur) bool {
	n := 0
	for i, p := range line {
		for _, m := range c.Melody {
			if now := c.At + theory.Dur(at[i])*unit; m.At <= now && m.End > now && m.Pitch.Class() == p.Class() {
				n++
			}
		}
	}
	return n > 1
}

// recogniseBassRun finds two single notes and more that go by step, one way, from within a
// bar to the first bass note of the next, after another note or chord in their own bar.
func recogniseBassRun(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 1; i+1 < len(ps); i++ {
		goal := ps[i+1]
		if goal.Off != 0 || ps[i].Bar == goal.Bar {
			continue
		}
		way := goal.Low() - ps[i].Low()
		first := i
		for j, next := i, goal; j > 0; j-- {
			p := ps[j]
			d := next.Low() - p.Low()
			if p.Bar != ps[i].Bar || !p.Lone() || d*way <= 0 || abs(d) > 2 || p.End > next.At {
				break
			}
			first, next = j, p
		}
		if first < i && ps[first].Off > 0 && ps[first-1].Bar == ps[i].Bar {
			out = append(out, finding("", ps[first:i+1]...))
		}
	}
	return out
}
