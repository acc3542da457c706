package ear

import (
	"fmt"
	"slices"

	"gradatim/score"
)

// textures hears whether what a hand does is a texture: a chord beside the tune that no
// neighbour has, rolls and ornaments one after the other, and what is written out again
// without a change.
func (e *ear) textures() {
	e.loneChords()
	e.rolls()
	e.ornaments()
	e.again()
}

// loneChords hears bars in which the right hand has a chord on one beat and neither the
// rest of the bar nor the bars beside it have any.
func (e *ear) loneChords() {
	bars := e.s.Bars
	chords := make([]int, len(bars)) // strikes of two keys and more
	for _, s := range e.hands[score.Right] {
		if len(s.notes) > 1 {
			chords[max(0, e.s.BarAt(s.at))]++
		}
	}
	for i, b := range bars {
		if b.Pickup || i+1 == len(bars) {
			continue
		}
		e.of(LoneChord, 1)
		if chords[i] == 1 && (i == 0 || chords[i-1] == 0) && chords[i+1] == 0 {
			e.mark(LoneChord, b.At, "")
		}
	}
}

// rolls hears rolled chords that follow another one within two bars.
func (e *ear) rolls() {
	last := -1
	for _, s := range e.hands[score.Left] {
		if !slices.ContainsFunc(s.notes, func(n note) bool { return e.s.Notes[n.score].Marks.Has(score.Rolled) }) {
			continue
		}
		bar := max(0, e.s.BarAt(s.at))
		e.of(RolledRow, 1)
		if last >= 0 && bar-last < 2 {
			e.mark(RolledRow, s.at, "")
		}
		last = bar
	}
}

// ornaments hears signs, fills and runs that stand within four bars of another one.
func (e *ear) ornaments() {
	last := -1
	for _, n := range e.s.Notes {
		o := n.Ornament != score.NoOrnament || n.Origin.Kind == score.Run || n.Origin.Kind == score.Fill
		if !o {
			continue
		}
		bar := max(0, e.s.BarAt(n.At))
		if bar == last {
			continue
		}
		e.of(CloseOrnament, 1)
		if last >= 0 && bar-last < 4 {
			e.mark(CloseOrnament, n.At, fmt.Sprintf("%d bars after another", bar-last))
		}
		last = bar
	}
}

// again hears sections that are written out again at once and differ from the first time
// in less than a third of their bars.
func (e *ear) again() {
	bars := e.s.Bars
	var starts []int
	for i, b := range bars {
		if b.Section != "" || b.Part != score.Tune && (i == 0 || bars[i-1].Part == score.Tune) {
			starts = append(starts, i)
		}
	}
	for k := 0; k+1 < len(starts); k++ {
		i, j := starts[k], starts[k+1]
		if bars[i].Section == "" || bars[i].Section != bars[j].Section {
			continue
		}
		end := len(bars)
		if k+2 < len(starts) {
			end = starts[k+2]
		}
		e.of(SameAgain, 1)
		n, other := 0, 0
		for d := 0; i+d < j && j+d < end; d++ {
			n++
			if e.inBar(bars[i+d]) != e.inBar(bars[j+d]) {
				other++
			}
		}
		if 3*other < n {
			e.mark(SameAgain, bars[j].At, fmt.Sprintf("%d of %d bars differ", other, n))
		}
	}
}

// inBar is what is struck in a bar, and for how long.
func (e *ear) inBar(b score.Bar) string {
	out := ""
	for _, n := range e.notes {
		if n.at >= b.At && n.at < b.End() {
			out += fmt.Sprint(n.at-b.At, " ", n.key, ",")
		}
	}
	return out
}
