package technique

import (
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// fullChords fill the right hand with chord tones under the tune where a chord
// begins.
var fullChords = &Technique{
	ID: "full-chords", Stage: RightHand,
	Needs: []string{"guide-tones"},
	Right: func(c Cell) []Figure {
		third, ok3 := c.Chord.Third()
		sev, ok7 := c.Chord.Seventh()
		if ok3 && !ok7 {
			return fullTriads(c)
		}
		if !ok3 {
			return nil
		}
		var out []Figure
		for n, m := range anchors(c) {
			for k, x := range append(colourTones(c), fifthOf(c.Chord)) {
				if f, ok := under(c, m, third, sev, x); ok {
					f.Cost, f.Say = k+n, reason.Figure("full-chords")
					out = append(out, f)
				}
			}
			if f, ok := under(c, m, third, sev); ok {
				f.Cost, f.Say = 3+n, reason.Figure("full-chords.guides")
				out = append(out, f)
			}
		}
		return out
	},
	Recognise: recogniseFull,
	Unseen:    "under a quick note of the tune one note of the chord is left",
	Also:      []string{"block-chords", "clusters", "guide-tones", "upper-structure", "drop-two", "third-or-sixth", "octaves"},
	Drill:     FullCadence,
}

// fullTriads hang the other notes of the triad, and the octave where the hand spans
// it, under each note of the tune that stands on a strong beat or is held for two. A
// bar in which none does has its first note so.
func fullTriads(c Cell) []Figure {
	third, _ := c.Chord.Third()
	degrees := []degree{deg1, third, fifthOf(c.Chord)}
	hang := func(f *Figure, m MelodyNote, octave bool) bool {
		var names []degree
		for _, d := range degrees {
			if d.On(c.Chord.Root).Class() != m.Pitch.Class() {
				names = append(names, d)
			}
		}
		if c.quick(m) && len(names) > 1 { // no time for more
			slices.SortStableFunc(names, func(a, b degree) int { return sixthFirst(c, m, a) - sixthFirst(c, m, b) })
			names = names[:1]
		}
		if len(names) > 2 { // a foreign note of the tune has the nearest two
			slices.SortStableFunc(names, func(a, b degree) int {
				return b.On(c.Chord.Root).Below(m.Pitch.MIDI()-2).MIDI() - a.On(c.Chord.Root).Below(m.Pitch.MIDI()-2).MIDI()
			})
			names = names[:2]
		}
		g, ok := under(c, m, names...)
		if !ok {
			return false
		}
		if low := m.Pitch; octave {
			low.Octave--
			if low.MIDI() < 53 || low.MIDI() >= g.Tones[0].Pitch.MIDI() {
				return false
			}
			g.Tones = append(g.Tones, Tone{At: m.At, Pitch: low, Kind: score.Doubling})
		}
		for _, t := range g.Tones {
			t.Dur = min(m.End, c.End) - m.At
			f.Tones = append(f.Tones, t)
		}
		return true
	}
	var out []Figure
	for k, octave := range []bool{true, false} {
		f := Figure{Cost: 2 * k, Say: reason.Figure("full-chords.triad")}
		for _, m := range c.Melody {
			if m.At >= c.At && c.carries(m) && !hang(&f, m, octave) {
				hang(&f, m, false)
			}
		}
		if m, ok := anchor(c); len(f.Tones) == 0 && ok && m.At == c.At {
			hang(&f, m, false)
		}
		if len(f.Tones) > 0 {
			sortTones(f.Tones)
			out = append(out, f)
		}
	}
	return out
}

// carries tells whether a note of the tune stands where a chord does in every bar: on a
// strong beat, or on any that it holds for two.
func (c *Cell) carries(m MelodyNote) bool {
	off, d := m.At-c.BarAt, min(m.End, c.End)-m.At
	beat := c.Meter.BeatDur()
	return c.Meter.Strength(off) <= 1 || c.Meter.OnBeat(off) && d >= 2*beat
}

// quick tells whether a note of the tune is shorter than a third of a second.
func (c *Cell) quick(m MelodyNote) bool {
	return int64(m.End-m.At)*3*60 < int64(c.Tempo)*int64(theory.Quarter)
}

// sixthFirst orders what may stand under a quick note of the tune: a sixth, a third, then
// the rest.
func sixthFirst(c Cell, m MelodyNote, d degree) int {
	switch m.Pitch.MIDI() - d.On(c.Chord.Root).Below(m.Pitch.MIDI()-2).MIDI() {
	case 8, 9:
		return 0
	case 3, 4:
		return 1
	}
	return 2
}

// wholeTriad tells whether a right-hand chord is the printed triad, nothing missing and
// nothing foreign; or, under a note of the tune that is foreign to it, two of its notes.
func wholeTriad(c sight.UnderTune) bool {
	if c.Chord == nil || c.Chord.Silent() {
		return false
	}
	third, ok := c.Chord.Third()
	if _, seventh := c.Chord.Seventh(); !ok || seventh {
		return false
	}
	want := []int{c.Chord.Root.Class(), third.On(c.Chord.Root).Class(), fifthOf(*c.Chord).On(c.Chord.Root).Class()}
	foreign := slices.ContainsFunc(c.Keys, func(k int) bool { return !slices.Contains(want, k%12) })
	if top := len(c.Keys) - 1; foreign && top == 2 {
		low := c.Keys[:top]
		return !slices.Contains(want, c.Keys[top]%12) && slices.Contains(want, low[0]%12) && slices.Contains(want, low[1]%12) && low[0]%12 != low[1]%12
	} else if foreign {
		return false
	}
	return !slices.ContainsFunc(want, func(class int) bool {
		return !slices.ContainsFunc(c.Keys, func(k int) bool { return k%12 == class })
	})
}

// recogniseFull finds right-hand chords of four notes and more that hold the printed
// chord's third and seventh, and whole triads where it has no seventh.
func recogniseFull(page *sight.Page) []Finding {
	var out []Finding
	for _, c := range page.Under() {
		if len(c.Keys) >= 4 && c.Third && c.Seventh || wholeTriad(c) {
			out = append(out, standing(c))
		}
	}
	return out
}
