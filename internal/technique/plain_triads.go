package technique

import (
	"gradatim/internal/harmony"
	"gradatim/internal/sight"
	"gradatim/score"
	"gradatim/theory"
)

// plainTriads is level 1's harmony: every chord as a major or minor triad.
var plainTriads = &Technique{
	ID: "plain-triads", Stage: Device, Plain: true,
	Needs:     []string{"the names of the keys"},
	Paint:     func(t Toned) []Tint { return []Tint{{Paint: "plain-triads", Chord: nearestTriad(t)}} },
	Recognise: recogniseTriads,
	Drill:     Inversions,
}

// nearestTriad is the major or minor triad that stands for a chord: a half-diminished
// one is the minor triad on its third with another bass, a diminished one the upper part
// of the dominant a third below, an augmented or suspended one leans on its major triad
// (common practice, no source). One that the tune denies stays as it is.
func nearestTriad(t Toned) theory.Chord {
	own := plainTriad(t.Chord)
	own.Slash, own.Bass = t.Chord.Slash, t.Chord.Bass
	on := func(root theory.Name, tones theory.Degrees) theory.Chord {
		ch := theory.Chord{Root: root.Simple(), Tones: tones, Slash: own.Slash, Bass: own.Bass}
		if t.Passage.Span.Line && !ch.Slash && ch.Root != own.Root {
			ch.Slash, ch.Bass = true, own.Root
		}
		ch.Slash = ch.Slash && ch.Bass != ch.Root
		if !ch.Slash {
			ch.Bass = theory.Name{}
		}
		return ch
	}
	major, minor := theory.DegreesOf(deg1, deg3, deg5), theory.DegreesOf(deg1, degB3, deg5)
	var near theory.Chord
	switch {
	case own.Diminished() && t.Chord.Tones.Has(degB7):
		near = on(degB3.On(own.Root), minor)
	case own.Diminished():
		near = on(own.Root.Up(theory.Interval{Steps: -2, Semitones: -4}), major)
	case own.Tones.Has(theory.Degree{Number: 5, Alter: 1}), isSus(own):
		near = on(own.Root, major)
		if third := degB3.On(own.Root); isSus(own) && t.Passage.Span.Key.Contains(third) {
			near = on(own.Root, minor)
		}
	default:
		return own
	}
	if !harmony.BearsAll(t.Passage.Song, near, t.Next, t.At, t.End) {
		return own
	}
	return near
}

// plainTriad reduces a chord; one without a third (a power chord) keeps root and
// fifth, a suspended chord its suspension.
func plainTriad(ch theory.Chord) theory.Chord {
	if _, ok := ch.Third(); !ok && !ch.Silent() {
		return theory.Chord{Root: ch.Root, Tones: theory.DegreesOf(theory.Degree{Number: 1}, fifthOf(ch))}
	}
	return ch.Triad()
}

// Turned plays the triad of a cell in the left hand, a beat each: in root position,
// in its first and second inversion, and back. Nil for a chord that is no triad.
func Turned(c Cell) []Figure {
	third, ok3 := c.Chord.Third()
	fifth, ok5 := c.Chord.Fifth()
	if !ok3 || !ok5 {
		return nil
	}
	low := c.Chord.Root.Above(48).MIDI() // lower, its third is heard as a growl
	var shapes [][]theory.Pitch
	for _, ds := range Rotations([]degree{deg1, third, fifth}) {
		shapes = append(shapes, Stack(c.Chord.Root, ds, low))
		low = shapes[len(shapes)-1][0].MIDI() + 1
	}
	var f Figure
	beat := min(c.Meter.BeatDur(), c.Dur())
	for at := c.At; at < c.End; at += beat {
		for _, q := range shapes[[...]int{0, 1, 2, 1}[int((c.Held+at-c.At)/beat)%4]] {
			f.Tones = append(f.Tones, Tone{At: at, Dur: beat, Pitch: q, Kind: score.Chord})
		}
	}
	return []Figure{f}
}

// recogniseTriads finds printed triads under which nothing else is struck in the
// left hand.
func recogniseTriads(page *sight.Page) []Finding {
	var out []Finding
	for _, sp := range page.Spans() {
		ch := *sp.Chord()
		if ch.Silent() || ch != plainTriad(ch) {
			continue
		}
		plain := true
		for _, n := range page.Struck(sp.At, sp.End) {
			plain = plain && (n.Hand != score.Left || n.Grace > 0 || ch.HasClass(n.Pitch.Class()))
		}
		if plain {
			out = append(out, Finding{At: sp.At, End: sp.End, Detail: ch.Pretty()})
		}
	}
	return out
}
