package hand

import (
	"cmp"
	"slices"

	"gradatim/score"
)

// PartSlurs returns the score with its slurs parted where one finger has to play two
// keys of the tune in a row, over keys that the hand holds: that cannot be joined, and a
// slur that says so is marked by every teacher. A slur of which one note is left is left
// out. The notes have their fingers.
func PartSlurs(s score.Score) score.Score {
	type line struct {
		hand  score.Hand
		voice uint8
	}
	lines := map[line][]int{}
	for i, n := range s.Notes {
		if n.Grace == 0 && (n.Hand == score.Left || n.Origin.Kind == score.Melody) {
			l := line{n.Hand, n.Voice}
			lines[l] = append(lines[l], i)
		}
	}
	notes := slices.Clone(s.Notes)
	for _, is := range lines { // each by itself: the order does not matter
		slices.SortStableFunc(is, func(a, b int) int { return cmp.Compare(notes[a].At, notes[b].At) })
		from := -1 // place in the line of the note where the slur begins
		for k, i := range is {
			if k > 0 && from >= 0 {
				if before := &notes[is[k-1]]; parts(before, &notes[i]) {
					closeSlur(notes, is, from, k-1)
					from = k
					if notes[i].Marks.Has(score.SlurTo) { // nothing is left of it
						notes[i].Marks &^= score.SlurTo
						from = -1
					} else {
						notes[i].Marks |= score.SlurFrom
					}
				}
			}
			switch m := notes[i].Marks; {
			case from >= 0 && from < k && m.Has(score.SlurTo):
				from = -1
				if m.Has(score.SlurFrom) {
					from = k
				}
			case m.Has(score.SlurFrom):
				from = k
			}
		}
	}
	s.Notes = notes
	return s
}

// parts tells whether one finger would have to join two keys.
func parts(a, b *score.Note) bool {
	return a.Finger != 0 && cmp.Or(a.FingerTo, a.Finger) == b.Finger && a.Pitch.MIDI() != b.Pitch.MIDI() && a.At < b.At
}

// closeSlur ends a slur at a note of its line, or takes it away where that is its first
// or where it would look like a tie.
func closeSlur(notes []score.Note, line []int, from, to int) {
	first, last := &notes[line[from]], &notes[line[to]]
	if to == from || to == from+1 && first.Pitch == last.Pitch {
		first.Marks &^= score.SlurFrom
		return
	}
	last.Marks |= score.SlurTo
}
