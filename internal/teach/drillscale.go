package teach

import (
	"fmt"

	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// onScale makes a drill on the first notes of the scale; key names its words.
func onScale(key string) maker {
	return func(w *writer, p *page, t *technique.Technique, n New) (made, bool) {
		s, notes, ok := w.study(p).OnScale(t)
		if !ok {
			return made{}, false
		}
		if len(t.Find(s)) == 0 {
			return w.fromPage(p, t, n)
		}
		parts := []any{"Notes", w.say(fmt.Sprintf("drill.first-notes.%d", notes), "Key", w.key)}
		switch t.Drill {
		case technique.OrnamentedScale:
			parts = append(parts, "How", w.words.Say("technique."+t.ID+".scale"))
		case technique.BlockScale: // on the tonic, then between
			parts = append(parts, "Sixth", s.Chords[0].Chord, "Diminished", s.Chords[1].Chord)
		}
		return w.made(t, key, dressed(p, s), parts...), true
	}
}

// scaleDrill is the tune's scale, one octave up and down, right hand, then left.
func (w *writer) scaleDrill(p *page) (made, bool) {
	d := w.sheet(p)
	scale := w.key.Scale()
	if w.key.Mode.Minorish() && w.key.Mode.String() == "minor" {
		scale[6] = scale[6].Up(theory.Interval{Steps: 0, Semitones: 1})
	}
	for _, unit := range []theory.Dur{d.meter.BeatDur(), d.meter.BeatDur() / 2, d.meter.BeatDur() / 3, d.meter.BeatDur() / 4} {
		if d.meter.Compound() != (unit*3 == d.meter.BeatDur()) && unit != d.meter.BeatDur() {
			continue
		}
		bars := int((15*unit + d.bar() - 1) / d.bar())
		if 2*bars < fewestBars || 2*bars > mostBars {
			continue
		}
		at := theory.Dur(0)
		for _, h := range []score.Hand{score.Right, score.Left} {
			from := 57
			if h == score.Left {
				from = 45
			}
			tonic := scale[0].Above(from)
			line := []theory.Pitch{tonic}
			for i := 1; i <= 7; i++ {
				line = append(line, scale[i%7].Above(line[i-1].MIDI()+1))
			}
			for i := 6; i >= 0; i-- {
				line = append(line, line[i])
			}
			end := at + theory.Dur(bars)*d.bar()
			for i, q := range line {
				dur := unit
				if i == len(line)-1 {
					dur = end - at
				}
				d.notes = append(d.notes, score.Note{Hand: h, Voice: 1, At: at, Dur: dur, Pitch: q, Origin: score.Origin{Kind: score.Run, Why: reason.Fact("scale")}})
				at += dur
			}
		}
		text := "drill.scale.text"
		if w.key.Mode.String() == "minor" {
			text = "drill.scale.minor"
		}
		return made{w.say("drill.scale.name", "Key", w.key), w.say(text, "Key", w.key), d.score()}, true
	}
	return made{}, false
}
