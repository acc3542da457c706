package sight

import (
	"gradatim/score"
	"gradatim/theory"
)

// Strike is what one hand plays at one moment.
type Strike struct {
	At, End theory.Dur
	Notes   []*score.Note // ascending; never empty
}

// Strikes collects the struck notes of a hand, moment by moment; grace notes are
// left out.
func Strikes(s score.Score, h score.Hand) []Strike {
	notes := make([]*score.Note, 0, len(s.Notes))
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Hand == h && n.Grace == 0 {
			notes = append(notes, n)
		}
	}
	out := make([]Strike, 0, len(notes))
	for i := 0; i < len(notes); {
		j := i
		st := Strike{At: notes[i].At}
		for ; j < len(notes) && notes[j].At == st.At; j++ {
			st.End = max(st.End, notes[j].End())
		}
		st.Notes = notes[i:j:j]
		for a := i + 1; a < j; a++ { // few, and mostly in order
			for b := a; b > i && theory.ComparePitch(notes[b].Pitch, notes[b-1].Pitch) < 0; b-- {
				notes[b], notes[b-1] = notes[b-1], notes[b]
			}
		}
		out = append(out, st)
		i = j
	}
	return out
}

// Dur is how long the longest note of the strike lasts.
func (s Strike) Dur() theory.Dur { return s.End - s.At }

// Keys lists the MIDI numbers, ascending.
func (s Strike) Keys() []int {
	out := make([]int, len(s.Notes))
	for i, n := range s.Notes {
		out[i] = n.Pitch.MIDI()
	}
	return out
}

// IDs lists the ids of the notes, lowest first.
func (s Strike) IDs() []string {
	out := make([]string, len(s.Notes))
	for i, n := range s.Notes {
		out[i] = n.ID
	}
	return out
}

// Low is the lowest key.
func (s Strike) Low() int { return s.Notes[0].Pitch.MIDI() }

// High is the highest key.
func (s Strike) High() int { return s.Top().Pitch.MIDI() }

// Span is how many half steps lie between the lowest key and the highest.
func (s Strike) Span() int { return s.High() - s.Low() }

// Lone tells whether the strike is a single note.
func (s Strike) Lone() bool { return len(s.Notes) == 1 }

// Top is the highest note.
func (s Strike) Top() *score.Note { return s.Notes[len(s.Notes)-1] }

// Under returns the notes below the highest.
func (s Strike) Under() []*score.Note { return s.Notes[:len(s.Notes)-1] }
