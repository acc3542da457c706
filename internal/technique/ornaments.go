package technique

import (
	"gradatim/score"
	"gradatim/theory"
)

// beatOf is the length of a beat at a spot.
func beatOf(s Spot) theory.Dur { return s.Cell.Meter.BeatDur() }

// onBeat tells whether the spot's note begins on a beat and was not pushed.
func onBeat(s Spot) bool {
	return !s.Note.Pushed && (s.Note.At-s.Cell.BarAt)%s.Cell.Pulse() == 0
}

// chordTone tells whether the spot's note belongs to its chord.
func chordTone(s Spot) bool { return s.Cell.Chord.HasClass(s.Note.Pitch.Class()) }

func grace(s Spot, place uint8, p theory.Pitch) Tone {
	return Tone{At: s.Note.At, Pitch: p, Kind: score.Ornamental, Grace: place, Marks: score.Slashed}
}

// graceSpelling writes the note a half step below as the raised lower neighbour.
func graceSpelling(s Spot, p theory.Pitch) theory.Pitch {
	q := s.Note.Pitch.Up(halfDown)
	if q.MIDI() == p.MIDI() && q.Alter >= -1 && q.Alter <= 1 {
		return q
	}
	return p
}
