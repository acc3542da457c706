package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// echo answers a held note with a soft chord tone below it.
var echo = &Technique{
	ID: "echo", Stage: Ornament,
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
		for d := range s.Cell.Chord.Triad().Tones.All() {
			p := d.On(s.Cell.Chord.Root).Below(s.Note.Pitch.MIDI() - 3)
			if p.MIDI() <= s.Room+1 || s.Note.Pitch.MIDI()-p.MIDI() > 9 {
				continue
			}
			out = append(out, Figure{Cost: abs(s.Note.Pitch.MIDI() - p.MIDI() - 5), Say: reason.Figure("echo"),
				Tones: []Tone{{At: at, Dur: min(2*beat, s.Until-at), Pitch: p, Kind: score.Fill, Velocity: -25}}})
		}
		return out
	},
	Recognise: recogniseEcho,
	Drill:     OrnamentedScale,
	Scale: OnScale{From: 64, Wide: true, Put: func(s ScaleNote) (Adorned, bool) {
		n, beat := s.Note, s.Meter.BeatDur()
		if n.Dur <= beat {
			return Adorned{}, false
		}
		third := n.Pitch.Up(theory.Interval{Steps: -2, Semitones: -3})
		if !s.Key.Contains(third.Name) {
			third = n.Pitch.Up(theory.Interval{Steps: -2, Semitones: -4})
		}
		return Adorned{Note: n, Why: reason.Figure("echo"), Added: []Tone{{At: n.At + beat, Dur: n.Dur - beat, Pitch: third, Kind: score.Fill}}}, true
	}},
}

// recogniseEcho finds a lone right-hand note, of two beats at most, struck under
// a higher one that has been down for a beat and stays, where no new chord
// begins. Two and more such notes are a fill.
func recogniseEcho(page *sight.Page) []Finding {
	var out []Finding
	held, since, top, before := theory.Dur(0), theory.Dur(0), 0, theory.Dur(0)
	for _, p := range page.Right() {
		alone := before == since && p.Next >= held
		before = p.At
		if p.At < held && p.High() < top {
			if alone && p.Lone() && p.End <= held && p.At-since >= p.Pulse && p.Dur() <= 2*p.Pulse && !(p.Known() && p.From == p.At) && held-since >= 2*p.Pulse {
				out = append(out, finding("", p))
			}
			continue
		}
		held, since, top = p.Top().End(), p.At, p.High()
	}
	return out
}
