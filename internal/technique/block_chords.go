package technique

import (
	"cmp"
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// blockChords harmonise every note of the tune in close position.
var blockChords = &Technique{
	ID: "block-chords", Stage: RightHand,
	Needs: []string{"guide-tones", "passing-diminished"},
	Right: func(c Cell) []Figure {
		var f Figure
		f.Say = reason.Figure("block-chords")
		count := 0
		voices := c.Manner.blockVoices()
		for i, m := range c.Melody {
			if m.At < c.At {
				if m.End-c.At < c.Meter.BeatDur() {
					continue
				}
				m.At = c.At
			}
			end := min(m.End, c.End)
			if end-m.At < theory.Eighth || end-m.At < c.Meter.BeatDur()/2 {
				return nil
			}
			ps := block(c, m, voices)
			if !c.Chord.HasClass(m.Pitch.Class()) && passingIn(c, m) {
				var next []theory.Pitch
				if i+1 < len(c.Melody) {
					next = append(block(c, c.Melody[i+1], voices), c.Melody[i+1].Pitch)
				}
				if !resolves(ps, next) {
					ps = nil // the tune alone: the voices would not move on by step
				}
			}
			for _, p := range ps {
				f.Tones = append(f.Tones, Tone{At: m.At, Dur: end - m.At, Pitch: p, Kind: c.kindOf(p, score.Chord)})
			}
			if len(ps) > 0 {
				count++
			}
		}
		if count < 2 || c.beatTempo() > 176 {
			return nil
		}
		return []Figure{f}
	},
	Recognise: recogniseBlocks,
	Also:      []string{"clusters", "full-chords", "guide-tones", "third-or-sixth", "upper-structure"},
	Drill:     BlockScale,
	Scale:     OnScale{From: 67, Ends: true, Put: blockOnScale},
}

// blockOnScale puts a block of four notes on a note of the scale: those of the sixth
// chord on the tonic take that chord, the others the diminished seventh between.
func blockOnScale(s ScaleNote) (Adorned, bool) {
	c := theory.Chord{Root: s.Key.Tonic, Tones: theory.DegreesOf(deg1, theory.Degree{Number: 3}, theory.Degree{Number: 5}, theory.Degree{Number: 6})}
	if s.Key.Mode.Minorish() {
		c.Tones = theory.DegreesOf(deg1, theory.Degree{Number: 3, Alter: -1}, theory.Degree{Number: 5}, theory.Degree{Number: 6})
	}
	if !c.HasClass(s.Note.Pitch.Class()) {
		c = theory.Chord{Root: s.Key.Tonic.Up(theory.Interval{Steps: 6, Semitones: 11}),
			Tones: theory.DegreesOf(deg1, theory.Degree{Number: 3, Alter: -1}, theory.Degree{Number: 5, Alter: -1}, theory.Degree{Number: 7, Alter: -2})}
	}
	out := Adorned{Note: s.Note, Why: reason.Figure("block-chords"), Chord: c}
	for low := s.Note.Pitch; len(out.Added) < 3; {
		var below theory.Pitch
		for d := range c.Tones.All() {
			if q := d.On(c.Root).Below(low.MIDI() - 1); below == (theory.Pitch{}) || q.MIDI() > below.MIDI() {
				below = q
			}
		}
		out.Added = append(out.Added, Tone{At: s.Note.At, Dur: s.Note.Dur, Pitch: below, Kind: score.Chord})
		low = below
	}
	return out, true
}

// block returns what stands under one note of the tune: chord tones closest
// below it, or for a foreign note those of the diminished seventh that holds it
// (the dominant without its root).
func block(c Cell, m MelodyNote, voices int) []theory.Pitch {
	ch := c.Chord
	d, in := ch.Degree(m.Pitch.Name)
	var names []theory.Name
	if in || !passingIn(c, m) {
		for _, x := range blockDegrees(ch) {
			if x != d {
				names = append(names, x.On(ch.Root))
			}
		}
	} else {
		for k := int8(1); k <= 3; k++ {
			names = append(names, m.Pitch.Name.Up(theory.Interval{Steps: -2 * k, Semitones: -3 * k}).Reading())
		}
	}
	below := make([]theory.Pitch, 0, len(names))
	for _, n := range names {
		p := n.Below(m.Pitch.MIDI() - 2)
		if p.Class() != m.Pitch.Class() {
			below = append(below, p)
		}
	}
	slices.SortFunc(below, func(a, b theory.Pitch) int { return cmp.Compare(b.MIDI(), a.MIDI()) })
	below = below[:min(len(below), voices-1)]
	slices.Reverse(below)
	return below
}

// resolves tells whether every note moves on by step (or stays) into a chord.
func resolves(ps, next []theory.Pitch) bool {
	for _, p := range ps {
		near := 99
		for _, q := range next {
			near = min(near, abs(p.MIDI()-q.MIDI()))
		}
		if near > 2 {
			return false
		}
	}
	return len(ps) > 0
}

// passingIn tells whether a note is short enough to take a diminished chord.
func passingIn(c Cell, m MelodyNote) bool { return m.End-m.At <= c.Meter.BeatDur() }

// blockDegrees lists the four notes of a block: third, fifth and seventh (or
// sixth), with the root; a colour in the symbol takes the place of its neighbour.
func blockDegrees(ch theory.Chord) []degree {
	out := []degree{deg1}
	if d, ok := ch.Third(); ok {
		out = append(out, d)
	}
	if _, altered := altersFifth(ch); !altered {
		out = append(out, fifthOf(ch))
	} else if x, _ := altersFifth(ch); true {
		out = append(out, x)
	}
	if d, ok := ch.Seventh(); ok {
		out = append(out, d)
	}
	return out
}

func sortTones(ts []Tone) {
	slices.SortStableFunc(ts, func(a, b Tone) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Pitch.MIDI(), b.Pitch.MIDI()))
	})
}

// recogniseBlocks finds runs of two or more close right-hand chords of three
// notes and more under one chord of the sheet: the tune's notes each have theirs.
func recogniseBlocks(page *sight.Page) []Finding {
	ps := page.Right()
	var out []Finding
	for i := 0; i < len(ps); {
		j := i
		for j+1 < len(ps) && blockPair(ps[j], ps[j+1]) {
			j++
		}
		if j > i {
			f := Finding{At: ps[i].At, End: ps[j].End}
			for _, p := range ps[i : j+1] {
				for _, n := range p.Under() {
					f.Notes = append(f.Notes, n.ID)
				}
			}
			out = append(out, f)
		}
		i = j + 1
	}
	return out
}

func blockPair(a, b sight.Play) bool {
	return len(a.Notes) >= 3 && len(b.Notes) >= 3 && a.Span() < 12 && b.Span() < 12 && a.Bar == b.Bar && b.At == a.End && a.From == b.From
}

// inBlock tells whether a strike and a neighbour in its bar, joined to it under
// the same chord, are both chords of three notes and more.
func inBlock(ps []sight.Play, i int) bool {
	return i > 0 && blockPair(ps[i-1], ps[i]) || i+1 < len(ps) && blockPair(ps[i], ps[i+1])
}
