package arrange

import (
	"cmp"
	"slices"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// An easier rhythm.
//
// Problem: a beginner reads eighths; a tune has notes between them, the short notes of
// dotted pairs first of all. Objective: as few notes between the eighths as can be, each
// moved by half an eighth at most, no pitch, no order and no bar changed; of two ways
// the one that puts notes on the stronger places. Method: dynamic programming over the
// notes of a bar, three places for each, so linear in their number. Rejected: rounding
// each note by itself (two notes meet on one place), and leaving out the passing notes
// of a run (the tune is law: who cannot play it yet waits for it). Notes of tuplets stay.
// Source of the step: common practice of easy editions, no source.

const (
	between = 100 // a note that stays between the places of the grid
	nudged  = 10  // one that moves
)

// Ease returns the song with its tune on a grid, as far as notes need to move by half of
// its step at most, and the bars, by index, in which a note moved. Notes keep their
// pitch, order and bar. With nothing to move the song is returned as it is.
func Ease(song leadsheet.Song, grid theory.Dur) (leadsheet.Song, []int) {
	if grid <= 0 || len(song.Melody) == 0 {
		return song, nil
	}
	out := slices.Clone(song.Melody)
	var bars []int
	for i, b := 0, 0; b < len(song.Bars); b++ {
		bar := song.Bars[b]
		j := i
		for j < len(out) && out[j].At < bar.End() {
			j++
		}
		changed := false
		for k, at := range onsets(bar, song.Melody[i:j], grid) {
			changed = changed || out[i+k].At != at
			out[i+k].At = at
		}
		if changed {
			bars = append(bars, b)
		}
		i = j
	}
	lengthen(song, out, grid)
	chords := slices.Clone(song.Chords)
	for i := range chords { // a chord stays with the note that it comes in on
		if e, ok := slices.BinarySearchFunc(song.Melody, chords[i].At, func(n leadsheet.Note, at theory.Dur) int { return cmp.Compare(n.At, at) }); ok {
			chords[i].At = out[e].At
		}
	}
	if len(bars) == 0 && slices.EqualFunc(out, song.Melody, func(a, b leadsheet.Note) bool { return a.Dur == b.Dur }) {
		return song, nil
	}
	song.Melody = out
	if slices.IsSortedFunc(chords, func(a, b leadsheet.ChordMark) int { return cmp.Or(cmp.Compare(a.At, b.At), -1) }) {
		song.Chords = chords
	}
	return song, bars
}

// onsets says where the notes of one bar begin.
func onsets(bar leadsheet.Bar, notes []leadsheet.Note, grid theory.Dur) []theory.Dur {
	type way struct {
		at   theory.Dur
		cost int
		from int
	}
	layers := make([][]way, len(notes))
	before := []way{{at: bar.At - 1}}
	for i, n := range notes {
		off := bar.Offset(n.At)
		can := []way{{at: n.At}}
		if off%grid == grid/2 {
			can[0].cost = between
			for _, to := range [...]theory.Dur{n.At - grid/2, n.At + grid/2} {
				if to >= bar.At && to < bar.End() {
					can = append(can, way{at: to, cost: nudged + bar.Meter.Strength(bar.Offset(to))})
				}
			}
		}
		var layer []way
		for _, c := range can {
			best := -1
			for k, b := range before {
				if b.at < c.at && (best < 0 || b.cost < before[best].cost) {
					best = k
				}
			}
			if best >= 0 {
				layer = append(layer, way{c.at, c.cost + before[best].cost, best})
			}
		}
		layers[i], before = layer, layer
	}
	out := make([]theory.Dur, len(notes))
	best := 0
	for k := range before {
		if before[k].cost < before[best].cost {
			best = k
		}
	}
	for i := len(notes) - 1; i >= 0; i-- {
		out[i] = layers[i][best].at
		best = layers[i][best].from
	}
	return out
}

// lengthen gives notes that moved, or that did not fill their place, their ends: a note
// that led into the next one does so still, and one before a rest fills its place.
func lengthen(song leadsheet.Song, out []leadsheet.Note, grid theory.Dur) {
	for i := range out {
		was := song.Melody[i]
		next := song.End()
		if i+1 < len(out) {
			next = out[i+1].At
		}
		end := was.End()
		switch b := song.BarAt(max(was.At, end-1)); {
		case i+1 < len(out) && end >= song.Melody[i+1].At:
			end = next
		case b >= 0 && song.Bars[b].Offset(end)%grid == grid/2:
			end += grid / 2
		}
		if end <= out[i].At { // it moved to where it ended, before a rest
			end = out[i].At + was.Dur
		}
		out[i].Dur = max(1, min(end, next)-out[i].At)
	}
}
