package reduction

import (
	"gradatim/internal/sight"
	"gradatim/score"
	"gradatim/theory"
)

// Tune finds the tune of a score in playing order: indexes into s.Notes, which are in
// the order of score.Compare. told is set where the page itself says which notes are the
// tune's, as ours do.
//
// Problem: which of the notes that sound are the line that a singer would take. Where
// nobody says, it is the right hand's upper line: of what the hand strikes together the
// highest note, unless the hand still holds a higher one, under which it only
// accompanies. Through whole bars in which the right hand is silent, and the left plays
// one note at a time, the left hand has it. (Common practice, no source.) Linear in the
// notes. Rejected: the top of both hands together, which hears a bass run as the tune
// wherever the right hand rests for a beat; a search over leaps and voices, which on our
// own pages loses as many notes of wide tunes as it avoids of accompaniment.
func Tune(s score.Score) (line []int, told bool) {
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Origin.Kind == score.Melody && n.Grace == 0 {
			if k := len(line) - 1; k >= 0 && s.Notes[line[k]].At == n.At { // the higher of two
				line[k] = higher(s, line[k], i)
				continue
			}
			line = append(line, i)
		}
	}
	if len(line) > 0 {
		return line, true
	}
	index := make(map[string]int, len(s.Notes))
	for i, n := range s.Notes {
		index[n.ID] = i
	}
	right, left := sight.Strikes(s, score.Right), sight.Strikes(s, score.Left)
	busy := make([]bool, len(s.Bars)) // the right hand sounds in the bar
	for _, st := range right {
		for b := max(s.BarAt(st.At), 0); b < len(s.Bars) && s.Bars[b].At < st.End; b++ {
			busy[b] = true
		}
	}
	chords := make([]bool, len(s.Bars)) // the left hand strikes several keys
	for _, st := range left {
		if b := s.BarAt(st.At); b >= 0 && !st.Lone() {
			chords[b] = true
		}
	}
	var held []*score.Note
	for len(right) > 0 || len(left) > 0 {
		if len(left) > 0 && (len(right) == 0 || left[0].At < right[0].At) {
			if b := s.BarAt(left[0].At); b >= 0 && !busy[b] && !chords[b] {
				line = append(line, index[left[0].Top().ID])
			}
			left = left[1:]
			continue
		}
		st := right[0]
		right = right[1:]
		sounding := held[:0]
		for _, n := range held {
			if n.End() > st.At {
				sounding = append(sounding, n)
			}
		}
		held = sounding
		top, covered := st.Top(), false
		for _, n := range held {
			covered = covered || n.Pitch.MIDI() > top.Pitch.MIDI()
		}
		if !covered {
			line = append(line, index[top.ID])
		}
		held = append(held, st.Notes...)
	}
	return line, false
}

func higher(s score.Score, a, b int) int {
	if theory.ComparePitch(s.Notes[a].Pitch, s.Notes[b].Pitch) < 0 {
		return b
	}
	return a
}
