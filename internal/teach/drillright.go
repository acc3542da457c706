package teach

import (
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/hand"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// line is a scale fragment for ornaments and pairs: up five notes and back.
func (w *writer) line(from int) []theory.Pitch {
	scale := w.key.Scale()
	line := []theory.Pitch{scale[0].Above(from)}
	for _, i := range []int{1, 2, 3, 4} {
		line = append(line, scale[i].Above(line[len(line)-1].MIDI()+1))
	}
	return append(line, line[3], line[2], line[0])
}

// ornamented plays a scale fragment with the ornament on each note that can take
// it.
func (w *writer) ornamented(p *page, t *technique.Technique, n New) (made, bool) {
	d := w.sheet(p)
	unit := d.bar()
	if d.meter.BeatCount()%2 == 0 && t.ID != "echo" && t.ID != "enclosure" && t.ID != "tremolo" {
		unit /= 2
	}
	sign := map[string]score.Ornament{"mordent": score.Mordent, "turn": score.Turn, "tremolo": score.Tremolo}[t.ID]
	at := theory.Dur(0)
	for _, q := range w.line(64) {
		note := score.Note{Hand: score.Right, Voice: 1, At: at, Dur: unit, Pitch: q, Ornament: sign, Origin: score.Origin{Kind: score.Melody, Why: "the scale"}}
		below := q.Up(theory.Interval{Steps: -1, Semitones: -1})
		switch t.ID {
		case "slide", "crush":
			if t.ID == "crush" || hand.Black(below.MIDI()) && !hand.Black(q.MIDI()) {
				d.notes = append(d.notes, score.Note{Hand: score.Right, Voice: 1, At: at, Pitch: readable(below), Grace: 1, Marks: score.Slashed,
					Origin: score.Origin{Kind: score.Ornamental, Why: "a half step below"}})
			}
		case "enclosure":
			beat := d.meter.BeatDur()
			if unit <= beat {
				return made{}, false
			}
			lead := beat / 2
			if d.meter.Compound() {
				lead = beat / 3
			}
			above := w.key.Scale()
			up := q.Up(theory.Interval{Steps: 1, Semitones: 2})
			if !slices.Contains(above[:], up.Name) {
				up = q.Up(theory.Interval{Steps: 1, Semitones: 1})
			}
			first := beat - 2*lead
			for i, x := range []theory.Pitch{up, below} {
				d.notes = append(d.notes, score.Note{Hand: score.Right, Voice: 1, At: at + first + theory.Dur(i)*lead, Dur: lead, Pitch: readable(x),
					Origin: score.Origin{Kind: score.Ornamental, Why: "encloses the next note"}})
			}
			note.At, note.Dur = at+beat, unit-beat
		case "echo":
			beat := d.meter.BeatDur()
			if unit <= beat {
				return made{}, false
			}
			scale := w.key.Scale()
			third := q.Up(theory.Interval{Steps: -2, Semitones: -3})
			if !slices.Contains(scale[:], third.Name) {
				third = q.Up(theory.Interval{Steps: -2, Semitones: -4})
			}
			d.notes = append(d.notes, score.Note{Hand: score.Right, Voice: 2, At: at + beat, Dur: unit - beat, Pitch: readable(third),
				Origin: score.Origin{Kind: score.Fill, Why: "the echo"}})
		}
		d.notes = append(d.notes, note)
		at += unit
	}
	s := d.score()
	if len(t.Recognise(s)) == 0 {
		return w.fromPage(p, t, n)
	}
	text := fmt.Sprintf("The first five notes of the scale of %s, up and back, with the %s", w.key.Pretty(), strings.ToLower(t.Name))
	if t.ID == "echo" {
		text = fmt.Sprintf("The first five notes of the scale of %s, up and back: hold each and answer a third below", w.key.Pretty())
	}
	if t.ID == "slide" {
		text += " wherever a black key lies a half step below a white one"
	}
	return made{say(t, "on the scale"), text, s}, true
}

// runs plays a run of the page: first its hand positions as blocks, then slowly
// note by note up to the note it lands on, then as written.
func (w *writer) runs(p *page, t *technique.Technique, n New) (made, bool) {
	var line []theory.Pitch
	var end theory.Dur
	for _, id := range n.Example.Notes {
		for _, m := range n.Example.After.Score.Notes {
			if m.ID == id && m.Hand == score.Right && m.Origin.Technique == t.ID {
				line = append(line, m.Pitch)
				end = m.End()
			}
		}
	}
	lands := ""
	for _, m := range n.Example.After.Score.Notes {
		if m.Origin.Kind == score.Melody && m.At >= end {
			line = append(line, m.Pitch)
			lands = ", landing on " + m.Pitch.Name.Pretty()
			break
		}
	}
	if len(line) < 3 {
		return w.fromPage(p, t, n)
	}
	d := w.sheet(p)
	at := theory.Dur(0)
	for i := 0; i < len(line); { // blocks
		var block []theory.Pitch
		var keys []int
		for j := i; j < len(line) && len(block) < 4; j++ {
			if slices.Contains(keys, line[j].MIDI()) {
				break
			}
			try := append(slices.Clone(keys), line[j].MIDI())
			slices.Sort(try)
			if !w.hand.Comfortable(score.Right, try) {
				break
			}
			keys, block = append(keys, line[j].MIDI()), append(block, line[j])
		}
		if len(block) == 0 {
			return made{}, false
		}
		if i += len(block); len(block) > 1 {
			d.add(score.Right, at, d.bar(), block...)
			at += d.bar()
		}
	}
	blocks := int(at / d.bar())
	written := alone(n.Example.After.Score, score.Right)
	beat := d.meter.BeatDur()
	for _, unit := range []theory.Dur{beat, beat / 2, beat / 3} {
		if unit == beat/2 && d.meter.Compound() || unit == beat/3 && !d.meter.Compound() {
			continue
		}
		bars := int((theory.Dur(len(line))*unit + d.bar() - 1) / d.bar())
		if blocks+bars+len(written.Bars) > mostBars || written.Bars[0].Meter != d.meter {
			continue
		}
		rounds := 1
		for blocks+rounds*bars+len(written.Bars) < fewestBars {
			rounds++
		}
		for range rounds {
			stop := at + theory.Dur(bars)*d.bar()
			for i, q := range line {
				dur := unit
				if i == len(line)-1 {
					dur = stop - at
				}
				d.add(score.Right, at, dur, q)
				at += dur
			}
		}
		for _, m := range written.Notes {
			m.At += at
			d.notes = append(d.notes, m)
		}
		return made{say(t, "slow, then as written"),
			fmt.Sprintf("The figure of %s: its notes together, one by one%s, then as on the page", barList(n.Example.Bars), lands), d.score()}, true
	}
	return made{}, false
}

// pairs plays the scale fragment with a third, then a sixth below.
func (w *writer) pairs(p *page, t *technique.Technique, n New) (made, bool) {
	d := w.sheet(p)
	unit := d.bar()
	if d.meter.BeatCount()%2 == 0 {
		unit /= 2
	}
	scale := w.key.Scale()
	at := theory.Dur(0)
	for i, q := range w.line(67) {
		steps := int8(-2)
		if i >= 4 {
			steps = -5
		}
		var low theory.Pitch
		for semis := int8(-10); semis < 0; semis++ {
			if x := q.Up(theory.Interval{Steps: steps, Semitones: semis}); slices.Contains(scale[:], x.Name) && q.MIDI()-x.MIDI() == -int(semis) && (steps == -2 && semis >= -4 && semis <= -3 || steps == -5 && semis >= -9 && semis <= -8) {
				low = x
			}
		}
		d.add(score.Right, at, unit, low, q)
		at += unit
	}
	return made{say(t, "on the scale"), fmt.Sprintf("The first five notes of the scale of %s: thirds going up, sixths coming back", w.key.Pretty()), d.score()}, true
}

// octaveScale plays the scale fragment in octaves.
func (w *writer) octaveScale(p *page, t *technique.Technique, n New) (made, bool) {
	if !w.hand.Reaches(score.Right, []int{60, 72}) {
		return made{}, false
	}
	d := w.sheet(p)
	unit := d.bar()
	if d.meter.BeatCount()%2 == 0 {
		unit /= 2
	}
	at := theory.Dur(0)
	for _, q := range w.line(60) {
		hi := q
		hi.Octave++
		d.add(score.Right, at, unit, q, hi)
		at += unit
	}
	return made{say(t, "the scale"), fmt.Sprintf("The first five notes of the scale of %s in octaves, up and back, the thumb light", w.key.Pretty()), d.score()}, true
}

// blockScale plays the scale fragment in block chords: notes of the sixth chord
// on the tonic take that chord, the others the diminished seventh between.
func (w *writer) blockScale(p *page, t *technique.Technique, n New) (made, bool) {
	d := w.sheet(p)
	unit := d.bar()
	if d.meter.BeatCount()%2 == 0 {
		unit /= 2
	}
	six := theory.Chord{Root: w.key.Tonic, Tones: tonicTriad(w.key).With(theory.Degree{Number: 6})}
	dim := theory.Chord{Root: w.key.Tonic.Up(theory.Interval{Steps: 6, Semitones: 11}),
		Tones: theory.DegreesOf(theory.Degree{Number: 1}, theory.Degree{Number: 3, Alter: -1}, theory.Degree{Number: 5, Alter: -1}, theory.Degree{Number: 7, Alter: -2})}
	at := theory.Dur(0)
	for _, top := range w.line(67) {
		c := dim
		if six.HasClass(top.Class()) {
			c = six
		}
		notes := []theory.Pitch{top}
		for len(notes) < 4 {
			below := theory.Pitch{}
			for deg := range c.Tones.All() {
				if q := deg.On(c.Root).Below(notes[len(notes)-1].MIDI() - 1); below == (theory.Pitch{}) || q.MIDI() > below.MIDI() {
					below = q
				}
			}
			notes = append(notes, below)
		}
		d.chord(at, c)
		d.add(score.Right, at, unit, notes...)
		at += unit
	}
	s := d.score()
	return made{say(t, "on the scale"), fmt.Sprintf("The first five notes of the scale of %s, up and back: %s under its own notes, %s under the others", w.key.Pretty(), six.Pretty(), dim.Pretty()), s}, len(t.Recognise(s)) > 0
}
