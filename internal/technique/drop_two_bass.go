package technique

import (
	"gradatim/internal/sight"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// dropTwoBass is the left hand of a drop-2 voicing: the chord's root below, the
// dropped voice above it.
var dropTwoBass = &Technique{
	ID: "drop-two-bass", Stage: LeftHand,
	Needs: []string{"drop-two"},
	Left: func(c Cell) []Figure {
		m, voices, ok := closeChord(c)
		if !ok || c.Swing {
			return nil
		}
		drop := voices[2]
		drop.Octave--
		var out []Figure
		for _, b := range c.basses() {
			gap := drop.MIDI() - b.MIDI()
			if gap < 3 || gap > 19 {
				continue
			}
			f := Figure{Say: reason.Figure("drop-two-bass"), Drop: drop.MIDI(), Pedal: true}
			half := c.Dur() / 2
			at := max(m.At, c.At+half/2)
			if half < theory.Eighth || at >= c.End {
				continue
			}
			f.Tones = []Tone{
				{At: c.At, Dur: at - c.At, Pitch: b, Kind: score.Bass},
				{At: at, Dur: c.End - at, Pitch: drop, Kind: c.kindOf(drop, score.Chord)},
			}
			out = append(out, f)
		}
		return out
	},
	Recognise: recogniseDropTwoBass,
	Drill:     AroundChords,
}

// recogniseDropTwoBass finds the left hand's part of it: the dropped voice, struck
// alone after its bass, both held by the pedal.
func recogniseDropTwoBass(page *sight.Page) []Finding {
	after := func(left []sight.Play, i int) bool {
		if i == 0 {
			return false
		}
		bass, voice := left[i-1], left[i]
		return voice.Lone() && bass.Lone() && bass.From == voice.From && bass.Low() < voice.Low() && voice.Dur() >= voice.Pulse && page.Pedalled(bass.At, voice.At)
	}
	var out []Finding
	for _, d := range drops(page, after) {
		out = append(out, Finding{At: d.voice.At, End: d.voice.End(), Notes: []string{d.voice.ID}, Detail: d.voice.Pitch.Pretty() + " is dropped"})
	}
	return out
}
