package technique

import (
	"gradatim/score"
	"gradatim/theory"
)

// thirdOrSixth puts one chord tone under the notes that close a phrase.
var thirdOrSixth = &Technique{
	ID: "third-or-sixth", Name: "A third or sixth under the tune", Level: 2, Stage: RightHand,
	What:  "At a phrase's end the tune has a chord tone a third or a sixth below it.",
	Needs: []string{"plain-triads"},
	Right: func(c Cell) []Figure {
		if !c.Closes {
			return nil
		}
		var m *MelodyNote
		for i := range c.Melody {
			if n := &c.Melody[i]; n.At >= c.At && n.End-n.At >= c.Meter.BeatDur() {
				m = n
			}
		}
		if m == nil {
			return nil
		}
		var out []Figure
		for _, d := range c.Chord.Tones.List() {
			if d == c.Added || d.Number == 7 {
				continue
			}
			p := d.On(c.Chord.Root).Below(m.Pitch.MIDI() - 1)
			gap := m.Pitch.MIDI() - p.MIDI()
			third := gap == 3 || gap == 4
			if !third && gap != 8 && gap != 9 || third && p.MIDI() < 60 {
				continue
			}
			say := "a third under the tune, at the phrase's end"
			cost := 0
			if !third {
				say, cost = "a sixth under the tune, at the phrase's end", 1
			}
			out = append(out, Figure{Cost: cost, Say: say, Tones: []Tone{{At: m.At, Dur: min(m.End, c.End) - m.At, Pitch: p, Kind: score.Chord}}})
		}
		return out
	},
	Recognise: recogniseThirds,
	Teach: Teaching{
		How:      "Voice the upper note: lean a little towards the little finger's side.",
		Practise: []string{"Tune alone, then both notes, the lower one softer."},
		Listen:   "The tune stays on top.",
		Mistakes: []string{"the lower note as loud as the tune"},
	},
	Drill: Drill{ChordShapes, "Thirds, then sixths, down the tune's scale."},
}

// echo answers a held note with a soft chord tone below it.
var echo = &Technique{
	ID: "echo", Name: "Echo in a held note", Level: 2, Stage: Ornament,
	What:  "While the tune holds a long note, one or two soft chord tones answer under it.",
	Needs: []string{"third-or-sixth"},
	Adorn: func(s Spot) []Figure {
		beat := s.Cell.Pulse()
		if s.Cell.Meter.Compound() {
			beat /= 3
		}
		length := s.Until - s.From
		if length < 2*s.Cell.Meter.BeatDur() || s.Cell.Chord.Silent() {
			return nil
		}
		at := s.From
		if s.From == s.Note.At {
			at += s.Cell.Meter.BeatDur()
		}
		var out []Figure
		for _, d := range s.Cell.Chord.Triad().Tones.List() {
			p := d.On(s.Cell.Chord.Root).Below(s.Note.Pitch.MIDI() - 3)
			if p.MIDI() <= s.Room+1 || s.Note.Pitch.MIDI()-p.MIDI() > 9 {
				continue
			}
			out = append(out, Figure{Cost: abs(s.Note.Pitch.MIDI() - p.MIDI() - 5), Say: "a soft echo of the chord in the held note",
				Tones: []Tone{{At: at, Dur: min(2*beat, s.Until-at), Pitch: p, Kind: score.Fill, Velocity: -25}}})
		}
		return out
	},
	Recognise: recogniseEcho,
	Teach: Teaching{
		How:      "Hold the long note with the outer finger and drop the echo in with the thumb side, softly.",
		Practise: []string{"Hold and tap: keep one key down while another finger plays."},
		Listen:   "The long note must still be heard when the echo has gone.",
		Mistakes: []string{"letting the long note go"},
	},
	Drill: Drill{OrnamentDrill, "Hold the fifth finger's note, echo with the thumb."},
}

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}

// inKey tells whether a chord degree on a root belongs to a key.
func inKey(k theory.Key, root theory.Name, d theory.Degree) bool { return k.Contains(d.On(root)) }
