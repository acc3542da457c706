package technique

import (
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// tenorLine holds the bass and sings a second tune above it in the same hand: chord tones
// on the strong beats, steps between them (common practice, no source).
var tenorLine = &Technique{
	ID: "tenor-line", Stage: LeftHand, Tenor: true,
	Needs:     []string{"two-voices", "walking-bass"},
	Left:      tenors,
	Recognise: recogniseTenor,
	Also:      []string{"two-voices", "shells"},
	Drill:     OwnBars,
}

// tenorShape is when the notes of a tenor line are struck.
type tenorShape struct {
	pulses   int
	compound bool
	at       []int // in sixths of a pulse
	cost     int
}

var tenorShapes = []tenorShape{
	{pulses: 4, at: []int{0, 12, 18}},
	{pulses: 4, at: []int{0, 6, 12, 18}, cost: 1},
	{pulses: 4, at: []int{0, 12}, cost: 2},
	{pulses: 3, at: []int{0, 12}},
	{pulses: 3, at: []int{0, 6, 12}, cost: 1},
	{pulses: 2, at: []int{0, 6}},
	{pulses: 4, compound: true, at: []int{0, 6, 12, 18}},
	{pulses: 3, compound: true, at: []int{0, 6, 12}},
	{pulses: 2, compound: true, at: []int{0, 6}, cost: 1},
	{pulses: 2, compound: true, at: []int{0, 4, 6, 10}},
	{pulses: 1, compound: true, at: []int{0, 4}},
}

// tenors lists the lines over each bass note of a cell.
func tenors(c Cell) []Figure {
	pulse := c.Pulse()
	if c.Chord.Silent() || c.Last || c.Meter.Quick() || c.Dur()%pulse != 0 {
		return nil
	}
	var out []Figure
	for _, shape := range tenorShapes {
		if shape.compound != c.Meter.Compound() || theory.Dur(shape.pulses)*pulse != c.Dur() {
			continue
		}
		at := make([]theory.Dur, len(shape.at))
		for i, n := range shape.at {
			at[i] = c.At + theory.Dur(n)*pulse/6
		}
		for _, base := range c.basses() {
			for d := range c.Chord.Tones.All() {
				if d.Number > 7 {
					continue
				}
				for p := d.On(c.Chord.Root).Above(max(tenorLow, base.MIDI()+3)); c.tenorReaches(base, p); p.Octave++ {
					c.tenorOn(&out, shape.cost, base, at, [4]theory.Pitch{p}, 1)
				}
			}
		}
	}
	return out
}

// tenorTop bounds a line that has the bass in the same hand.
const tenorTop = 64 // E4

// tenorSpan is the widest that a line stands above its bass: an octave, as beyond it the thumb
// alone reaches the line and rocks from note to note.
const tenorSpan = 12

func (c *Cell) tenorReaches(base, p theory.Pitch) bool {
	key, low := p.MIDI(), base.MIDI()
	return key <= min(tenorTop, c.High) && key-low <= min(tenorSpan, c.Caps.Span[1]) && c.Hand.Reaches(score.Left, []int{low, key})
}

// tenorOn goes on from the first k notes of a line in every way that keeps to the chord where the
// bar is strong and moves by step, or by a third within the chord.
func (c *Cell) tenorOn(out *[]Figure, cost int, base theory.Pitch, at []theory.Dur, line [4]theory.Pitch, k int) {
	if k == len(at) {
		*out = append(*out, c.tenor(cost, base, at, line[:k]))
		return
	}
	was := line[k-1]
	strong := c.Meter.Strength(at[k]-c.BarAt) <= 1
	for _, way := range [...]int8{-1, 1, -2, 2} {
		p := was.Up(theory.Interval{Steps: way, Semitones: 2 * way})
		p = p.Up(theory.Interval{Semitones: c.degreeHere(p.Name) - p.Alter})
		step := abs(p.MIDI() - was.MIDI())
		in := c.Chord.HasClass(p.Class())
		switch {
		case !c.tenorReaches(base, p), p.MIDI() < tenorLow, p.MIDI() < base.MIDI()+3, p.Alter > 1, p.Alter < -1:
		case step < 1, step > 2 && !(abs(int(way)) == 2 && step <= 4 && in && c.Chord.HasClass(was.Class())):
		case strong && !in:
		case !c.Chord.HasClass(was.Class()) && abs(int(way)) == 2: // what passes goes on by step
		default:
			extra := 0
			if abs(int(way)) == 2 {
				extra = 1
			}
			line[k] = p
			c.tenorOn(out, cost+extra, base, at, line, k+1)
		}
	}
}

// tenor is the figure of a line. One that is the tune's own notes, or does not go on by
// step into the next chord, is a worse tune.
func (c *Cell) tenor(cost int, base theory.Pitch, at []theory.Dur, line []theory.Pitch) Figure {
	f := Figure{Cost: cost, Holds: true, Say: reason.Figure("tenor-line"), Tones: make([]Tone, 0, len(line)+1)}
	f.Tones = append(f.Tones, Tone{At: c.At, Dur: c.Dur(), Pitch: base, Kind: score.Bass})
	turns := 0
	for i, p := range line {
		end := c.End
		if i+1 < len(line) {
			end = at[i+1]
		}
		kind := score.Passing
		if c.Chord.HasClass(p.Class()) {
			kind = c.kindOf(p, score.Chord)
		}
		f.Tones = append(f.Tones, Tone{At: at[i], Dur: end - at[i], Pitch: p, Kind: kind})
		for _, m := range c.Melody {
			if m.At <= at[i] && m.End > at[i] && m.Pitch.Class() == p.Class() {
				f.Cost += 2
			}
		}
		if i > 1 && (p.MIDI()-line[i-1].MIDI())*(line[i-1].MIDI()-line[i-2].MIDI()) < 0 {
			turns++
		}
	}
	f.Cost += max(0, turns-1)
	if sev, ok := c.Chord.Seventh(); ok {
		class := sev.On(c.Chord.Root).Class()
		heard := slices.ContainsFunc(line, func(p theory.Pitch) bool { return p.Class() == class }) ||
			slices.ContainsFunc(c.Melody, func(m MelodyNote) bool { return m.Pitch.Class() == class })
		if !heard {
			f.Cost += 8
		}
	}
	if last := line[len(line)-1].MIDI(); !c.Next.Silent() {
		goes := false
		for d := range c.Next.Triad().Tones.All() {
			gap := (d.On(c.Next.Root).Class() - last%12 + 12) % 12
			goes = goes || gap == 1 || gap == 2 || gap == 10 || gap == 11
		}
		if !goes {
			f.Cost += 3
		}
	}
	return f
}

// recogniseTenor finds a low note that is held while the note above it goes on, by step or
// third and by one step at least, to others of the same hand.
func recogniseTenor(page *sight.Page) []Finding {
	ps := page.Left()
	var out []Finding
	for i := 0; i < len(ps); i++ {
		if len(ps[i].Notes) != 2 || ps[i].Notes[1].End() >= ps[i].Notes[0].End() {
			continue
		}
		j, steps := i+1, 0
		for before := ps[i].High(); j < len(ps) && ps[j].Lone() && ps[j].At < ps[i].Notes[0].End() && abs(ps[j].Low()-before) <= 4; j++ {
			if d := abs(ps[j].Low() - before); d == 1 || d == 2 {
				steps++
			}
			before = ps[j].Low()
		}
		if steps > 0 {
			out = append(out, finding("", ps[i:j]...))
			i = j - 1
		}
	}
	return out
}
