package dictation

import (
	"math"
	"slices"

	"gradatim/score"
)

// struckTogether is how far apart the keys of one chord go down at most, in seconds.
const struckTogether = 0.045

// gatherLead puts notes of the tune where the notes are that they are written with.
//
// Problem: players bring out a tune by striking it a little before what accompanies it,
// 30 ms (Goebl, "Melody lead in piano performance: Expressive device or artifact?", JASA
// 110(1), 2001), which at 150 quarters a minute is more than a 16th part of a quarter:
// enough to look like a grace note, or like a file that does not keep to its beats.
// Objective: the lead is the median of how much the highest key of a chord of both hands
// comes before its lowest, where three of four do and it is 8 ms at least; what comes so
// much before its chord is moved by it, and what the right hand strikes alone above all
// that it holds. Linear in the notes. Rejected: one moment for whatever is 45 ms apart,
// which swallows grace notes, and leaves a tune that is alone before its beat.
func (t *take) gatherLead() {
	second := float64(t.tempo) / 60 // quarters
	chords := t.chords(struckTogether * second)
	var leads []float64
	for _, c := range chords {
		if low, top := t.notes[c[0]], t.notes[c[len(c)-1]]; low.hand != top.hand {
			leads = append(leads, low.on-top.on)
		}
	}
	if len(leads) < 8 {
		return
	}
	slices.Sort(leads)
	lead := leads[len(leads)/2]
	if lead < 0.008*second || leads[len(leads)/4] <= 0 {
		return
	}
	var until [128]float64 // how long the right hand holds a key
	for _, c := range chords {
		last := math.Inf(-1)
		for _, i := range c {
			last = max(last, t.notes[i].on)
		}
		if n := &t.notes[c[0]]; len(c) == 1 && n.hand == score.Right {
			under := false
			for _, end := range until[n.key+1:] {
				under = under || end > n.on+0.06*second
			}
			if !under {
				last = n.on + lead
			}
		}
		for _, i := range c {
			n := &t.notes[i]
			if n.hand == score.Right {
				until[n.key] = max(until[n.key], n.off)
			}
			if d := last - n.on; d > lead/2 && d < 1.75*lead {
				n.on += lead
				n.off = max(n.off, n.on)
			}
		}
	}
	t.sortNotes()
}

// chords lists what goes down together, from the lowest key to the highest, but for what
// is let go at once.
func (t *take) chords(within float64) (out [][]int) {
	for i := 0; i < len(t.notes); {
		j := i
		for j < len(t.notes) && t.notes[j].on-t.notes[i].on <= within {
			j++
		}
		var c []int
		for k := i; k < j; k++ {
			if t.notes[k].off > t.notes[j-1].on+within/2 {
				c = append(c, k)
			}
		}
		if len(c) > 0 {
			slices.SortStableFunc(c, func(a, b int) int { return t.notes[a].key - t.notes[b].key })
			out = append(out, c)
		}
		i = j
	}
	return out
}
