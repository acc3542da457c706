package technique

import (
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// dropTwo opens a close four-note chord: its second voice from the top goes to
// the left hand an octave lower, the right keeps the tune and the other two.
var dropTwo = &Technique{
	ID: "drop-two", Name: "Drop-2 voicing", Level: 4, Stage: RightHand,
	What:  "Of a close four-note chord under the tune the second voice from the top is dropped an octave, into the left hand.",
	Needs: []string{"block-chords"},
	Right: func(c Cell) []Figure {
		m, voices, ok := closeChord(c)
		if !ok {
			return nil
		}
		f := Figure{Say: reason.Figure("drop-two"), Drop: voices[2].MIDI() - 12}
		for _, p := range voices[:2] { // the third and fourth voice
			f.Tones = append(f.Tones, Tone{At: m.At, Dur: c.End - m.At, Pitch: p, Kind: c.kindOf(p, score.Chord)})
		}
		out := []Figure{f}
		if guides(c, voices[:2]) {
			f.Drop, f.By, f.Say = 0, guideTones.ID, reason.Figure("drop-two.guides") // what the right hand has by itself
			out = append(out, f)
		}
		return out
	},
	Recognise: recogniseDropTwo,
	Teach: Teaching{
		How:      "Build the close chord under the tune, then give its second note from the top to the left hand, an octave down.",
		Practise: []string{"Close chord, open chord, for each long note of the tune."},
		Listen:   "The same chord, with air in it.",
		Mistakes: []string{"doubling the dropped note above"},
	},
	Drill: Drill{ChordShapes, "The chords of the tune close, then with the second voice dropped."},
}

// guides tells whether notes are thirds, sevenths, sixths and colours of the chord,
// with a guide tone among them.
func guides(c Cell, ps []theory.Pitch) bool {
	some := false
	for _, p := range ps {
		d, in := c.Chord.Degree(p.Name)
		if !in || d.Number == 1 || d.Number == 5 {
			return false
		}
		some = some || d.Number <= 7
	}
	return some
}

// closeChord returns the note of the tune that carries the chord and the three
// voices of a close chord below it, lowest first.
func closeChord(c Cell) (MelodyNote, []theory.Pitch, bool) {
	m, ok := anchor(c)
	if !ok || c.beatTempo() > 120 || m.End-m.At < c.Meter.BeatDur() {
		return m, nil, false
	}
	if _, in := c.Chord.Degree(m.Pitch.Name); !in {
		return m, nil, false
	}
	voices := block(c, m, 4)
	if len(voices) != 3 {
		return m, nil, false
	}
	return m, voices, true
}
