package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
)

// octaves double the tune, with a chord tone inside.
var octaves = &Technique{
	ID: "octaves", Stage: RightHand,
	Needs: []string{"guide-tones"}, Varies: true, Grand: true,
	Right: func(c Cell) []Figure {
		if !c.Again && !c.Manner.OctavesFirst {
			return nil
		}
		f := Figure{Say: reason.Figure("octaves")}
		n := 0
		for _, m := range c.Melody {
			if m.At < c.At {
				continue
			}
			end := min(m.End, c.End)
			if end-m.At < c.Meter.BeatDur() {
				continue
			}
			low := m.Pitch
			low.Octave--
			if low.MIDI() < 55 {
				return nil
			}
			f.Tones = append(f.Tones, Tone{At: m.At, Dur: end - m.At, Pitch: low, Kind: score.Doubling})
			for _, d := range blockDegrees(c.Chord) {
				p := d.On(c.Chord.Root).Below(m.Pitch.MIDI() - 3)
				if gap := m.Pitch.MIDI() - p.MIDI(); gap >= 3 && gap <= 9 && p.MIDI() > low.MIDI()+2 {
					f.Tones = append(f.Tones, Tone{At: m.At, Dur: end - m.At, Pitch: p, Kind: c.kindOf(p, score.Chord)})
					break
				}
			}
			n++
		}
		if n == 0 {
			return nil
		}
		sortTones(f.Tones)
		return []Figure{f}
	},
	Recognise: recogniseOctaves,
	Also:      []string{"full-chords", "block-chords", "guide-tones", "drop-two"},
	Drill:     OctaveScale,
	Scale: OnScale{From: 72, Put: func(s ScaleNote) (Adorned, bool) {
		out := s.with(s.below(7), score.Doubling, reason.Figure("octaves"))
		inner := out.Added[0]
		inner.Pitch, inner.Kind = s.below(5), score.Chord // a third above the lower note
		out.Added = append(out.Added, inner)
		return out, true
	}},
}

// recogniseOctaves finds right-hand octaves, with one note between or none.
func recogniseOctaves(page *sight.Page) []Finding {
	var out []Finding
	for _, p := range page.Right() {
		if (len(p.Notes) == 2 || len(p.Notes) == 3) && p.Span() == 12 {
			out = append(out, finding("", p))
		}
	}
	return out
}
