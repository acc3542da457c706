package teach

import (
	"slices"

	"gradatim/internal/technique"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// touch is a key with the finger that takes it.
type touch struct {
	pitch  theory.Pitch
	finger uint8
}

// runs plays a run of the page with the fingers that it has there: first its hand
// positions as blocks, then slowly note by note up to the note it lands on, then
// as written.
func (w *writer) runs(p *page, t *technique.Technique, n New) (made, bool) {
	line, written, ok := w.run(p, t, n)
	if !ok {
		return w.fromPage(p, t, n)
	}
	d := w.sheet(p)
	put := func(at, dur theory.Dur, x touch) {
		d.notes = append(d.notes, score.Note{Hand: score.Right, Voice: 1, At: at, Dur: dur, Pitch: readable(x.pitch), Finger: x.finger,
			Origin: score.Origin{Kind: score.Chord, Why: exercise}})
	}
	at := theory.Dur(0)
	for i := 0; i < len(line); {
		block := w.position(line[i:])
		if len(block) == 0 {
			return made{}, false
		}
		i += len(block)
		if keys := distinct(block); len(keys) > 1 {
			for _, x := range keys {
				put(at, d.bar(), x)
			}
			at += d.bar()
		}
	}
	blocks := int(at / d.bar())
	beat := d.meter.BeatDur()
	for _, unit := range []theory.Dur{beat, beat / 2, beat / 3} {
		if unit == beat/2 && d.meter.Compound() || unit == beat/3 && !d.meter.Compound() {
			continue
		}
		// The note it lands on begins a bar.
		lead := theory.Dur(len(line)-1) * unit
		bars := int((lead+d.bar()-1)/d.bar()) + 1
		if blocks+bars+len(written.Bars) > mostBars || written.Bars[0].Meter != d.meter {
			continue
		}
		rounds := 1
		for blocks+rounds*bars+len(written.Bars) < fewestBars {
			rounds++
		}
		for range rounds {
			goal := at + theory.Dur(bars-1)*d.bar()
			for i, x := range line[:len(line)-1] {
				put(goal-lead+theory.Dur(i)*unit, unit, x)
			}
			put(goal, d.bar(), line[len(line)-1])
			at = goal + d.bar()
		}
		for _, m := range written.Notes {
			m.At += at
			m.ID = ""
			d.notes = append(d.notes, m)
		}
		return w.made(t, "the-run", d.score(), "Bars", words.Bars(n.Example.Bars), "Goal", line[len(line)-1].pitch.Name), true
	}
	return made{}, false
}

// run finds the run of an example in the page: its notes, the one of the tune that
// it lands on last, with their fingers, and the bars that hold them, the right hand
// alone.
func (w *writer) run(p *page, t *technique.Technique, n New) ([]touch, score.Score, bool) {
	var ids []string
	var from, end theory.Dur = -1, 0
	for _, m := range p.Score.Notes {
		if m.Hand == score.Right && m.Origin.Technique == t.ID && m.Origin.Kind != score.Melody && m.Grace == 0 && slices.Contains(n.Example.Notes, m.ID) {
			ids = append(ids, m.ID)
			end = m.End()
			if from < 0 {
				from = m.At
			}
		}
	}
	goal := slices.IndexFunc(p.Score.Notes, func(m score.Note) bool { return m.Origin.Kind == score.Melody && m.At >= end })
	if len(ids) < 2 || goal < 0 {
		return nil, score.Score{}, false
	}
	g := p.Score.Notes[goal]
	first, last := p.Score.BarAt(from), p.Score.BarAt(g.At)
	if last-first > 2 {
		return nil, score.Score{}, false
	}
	s := excerpt(p.Score, first, last)
	s.Notes = slices.DeleteFunc(slices.Clone(s.Notes), func(m score.Note) bool { return m.Hand != score.Right })
	s = w.fingered(s)
	var line []touch
	for _, m := range s.Notes {
		if slices.Contains(ids, m.ID) || m.ID == g.ID && m.At == g.At-p.Score.Bars[first].At {
			line = append(line, touch{m.Pitch, m.Finger})
		}
	}
	return line, alone(s, score.Right), len(line) > 2
}

// position is the beginning of a line that lies under one hand: higher keys under
// higher fingers, all within a comfortable reach.
func (w *writer) position(line []touch) []touch {
	for n := 1; n <= len(line); n++ {
		var keys []int
		for _, x := range distinct(line[:n]) {
			keys = append(keys, x.pitch.MIDI())
		}
		slices.Sort(keys)
		same := true
		for _, x := range line[:n] {
			for _, y := range line[:n] {
				same = same && (x.pitch.MIDI() < y.pitch.MIDI()) == (x.finger < y.finger)
			}
		}
		if !same || !w.hand.Comfortable(score.Right, keys) {
			return line[:n-1]
		}
	}
	return line
}

// distinct drops keys that come again.
func distinct(line []touch) []touch {
	var out []touch
	for _, x := range line {
		if !slices.Contains(out, x) {
			out = append(out, x)
		}
	}
	return out
}
