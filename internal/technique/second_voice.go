package technique

import (
	"slices"

	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/theory"
)

// secondVoice goes with the tune, note for note, a third or a sixth below it.
var secondVoice = &Technique{
	ID: "second-voice", Stage: RightHand, Under: UnderAll, Varies: true,
	Needs: []string{"third-or-sixth"},
	Right: func(c Cell) []Figure {
		var out []Figure
		for k, sixths := range []bool{false, true} {
			if f, ok := paired(c, sixths); ok {
				f.Cost = 2 * k
				out = append(out, f)
			}
		}
		return out
	},
	Unseen:    "thirds and sixths of which there are fewer than four are no second voice yet",
	Recognise: recogniseSecondVoice,
	Also:      []string{"third-or-sixth", "guide-tones", "octaves", "chord-fill", "inner-voice", "echo"},
	Drill:     PairedScale,
	Scale:     OnScale{From: 67, Put: thirdOrSixth.Scale.Put},
}

// paired puts a note of the chord a third or a sixth below each note of the tune, where
// there is one; below the others the scale's third, or sixth. Notes too quick for two
// fingers have one where their beat begins. What is bare more often than not is no voice.
func paired(c Cell, sixths bool) (Figure, bool) {
	f := Figure{Say: reason.Figure("second-voice.thirds")}
	if sixths {
		f.Say = reason.Figure("second-voice.sixths")
	}
	count, bare := 0, 0
	for i := 0; i < len(c.Melody); i++ {
		m := c.Melody[i]
		if m.At < c.At {
			continue
		}
		end, from := min(m.End, c.End), i
		onBeat := (m.At-c.BarAt)%c.Pulse() == 0
		if c.twoFingersLate(end - m.At) { // of notes too quick those of a beat share one, struck with the first
			next := i
			for onBeat && next+1 < len(c.Melody) && c.Melody[next+1].At < min(m.At+c.Pulse(), c.End) {
				next++
			}
			beat := min(c.Melody[next].End, m.At+c.Pulse(), c.End) - m.At
			if i = next; c.twoFingersLate(beat) {
				bare++
				continue
			}
		}
		p, ok := belowIn(c, m, sixths, onBeat)
		if !ok || i > from && !c.liesUnder(p, c.Melody[from:i+1]) {
			bare++
			continue
		}
		count++
		if line, ok := c.movesUnder(m, p, end); ok {
			f.Tones = append(f.Tones, line...)
			continue
		}
		f.Tones = append(f.Tones, Tone{At: m.At, Dur: end - m.At, Pitch: p, Kind: c.voiceKind(p)})
	}
	kept := make([]Tone, 0, len(f.Tones))
	for i, t := range f.Tones {
		if c.foreignAlone(f.Tones, i) {
			bare, count = bare+1, count-1
			continue
		}
		kept = append(kept, t)
	}
	f.Tones = kept
	return f, count > 0 && bare <= count
}

// liesUnder tells whether a note lies well under the first of some quick ones. Where they follow
// one another in less than .18 seconds, a third below it, with the others above it too: for a sixth
// the hand opens and closes again within a beat. Common practice, no source.
func (c *Cell) liesUnder(p theory.Pitch, run []MelodyNote) bool {
	if int64(run[0].End-run[0].At)*60_000 >= int64(c.Tempo)*int64(theory.Quarter)*180 {
		return true
	}
	return run[0].Pitch.MIDI()-p.MIDI() <= 4 && !slices.ContainsFunc(run, func(m MelodyNote) bool { return m.Pitch.MIDI() <= p.MIDI()+1 })
}

// movesUnder is how the second voice goes on while the tune holds a long note.
func (c *Cell) movesUnder(m MelodyNote, p theory.Pitch, end theory.Dur) ([]Tone, bool) {
	steps := c.innerSteps(end - m.At)
	if steps == nil || !c.Manner.MovingVoice || !c.Chord.HasClass(p.Class()) {
		return nil, false
	}
	for i := range innerWays { // another way in the next bar
		way := innerWays[(i+c.turn())%len(innerWays)]
		if f, ok := c.innerLine(m, p, way, steps); ok {
			return f.Tones, true
		}
	}
	return nil, false
}

// foreignAlone tells whether a note of the voice is none of the chord's, stands under one
// that is, and neither comes from nor goes to a neighbour: no voice would sing it.
func (c *Cell) foreignAlone(ts []Tone, i int) bool {
	t := ts[i]
	if c.Chord.HasClass(t.Pitch.Class()) {
		return false
	}
	for _, k := range []int{i - 1, i + 1} {
		if k >= 0 && k < len(ts) {
			if d := abs(ts[k].Pitch.MIDI() - t.Pitch.MIDI()); d == 1 || d == 2 {
				return false
			}
		}
	}
	return slices.ContainsFunc(c.Melody, func(m MelodyNote) bool {
		return m.At <= t.At && m.End > t.At && c.Chord.HasClass(m.Pitch.Class())
	})
}

// twoFingersLate tells whether two fingers at once are too slow for a note: less than a
// quarter of a second.
func (c *Cell) twoFingersLate(d theory.Dur) bool {
	return int64(d)*4*60 < int64(c.Tempo)*int64(theory.Quarter)
}

// belowIn is the note of a second voice under a note of the tune: on a beat, and where the
// tune has a chord tone, one of the chord.
func belowIn(c Cell, m MelodyNote, sixths, onBeat bool) (theory.Pitch, bool) {
	gaps := [2][2]int{{3, 4}, {8, 9}}
	if sixths {
		gaps[0], gaps[1] = gaps[1], gaps[0]
	}
	fits := func(p theory.Pitch, gap [2]int) bool {
		d := m.Pitch.MIDI() - p.MIDI()
		return (d == gap[0] || d == gap[1]) && p.MIDI() >= 59
	}
	for _, gap := range gaps {
		for d := range c.Chord.Tones.All() {
			if d.Number > 7 || d == c.Added {
				continue
			}
			if p := d.On(c.Chord.Root).Below(m.Pitch.MIDI() - 2); fits(p, gap) {
				return p, true
			}
		}
	}
	if onBeat { // what is foreign to the chord goes by between beats
		return theory.Pitch{}, false
	}
	for i, gap := range gaps {
		steps := 2
		if sixths == (i == 0) {
			steps = 5
		}
		if p, ok := stepsBelow(&c, m.Pitch, steps); ok && fits(p, gap) {
			return p, true
		}
	}
	return theory.Pitch{}, false
}

// stepsBelow is the note so many steps of the chord's scale below another.
func stepsBelow(c *Cell, p theory.Pitch, steps int) (theory.Pitch, bool) {
	sc, ok := c.Key.ChordScale(c.Chord)
	for range steps {
		if ok {
			p, ok = nextScaleTone(c.Chord, sc, p.MIDI(), -1)
		}
	}
	return p, ok
}

// leastPairs is from how many pairs, with no more than one note alone between two of them,
// two voices are heard.
const leastPairs = 4

// recogniseSecondVoice finds rows of thirds and sixths in the right hand.
func recogniseSecondVoice(page *sight.Page) []Finding {
	ps := page.Right()
	pair := func(p sight.Play) bool {
		switch p.Span() {
		case 3, 4, 8, 9:
			return len(p.Notes) == 2
		}
		return false
	}
	var out []Finding
	for i := 0; i < len(ps); {
		if !pair(ps[i]) {
			i++
			continue
		}
		pairs, j := 0, i
	row:
		for j < len(ps) {
			switch {
			case pair(ps[j]):
				pairs++
				j++
				continue
			case ps[j].Lone() && j+1 < len(ps) && pair(ps[j+1]): // a quick note between two
				j++
				continue
			}
			break row
		}
		if pairs >= leastPairs {
			out = append(out, finding("", ps[i:j]...))
		}
		i = j
	}
	return out
}
