package notate

import (
	"slices"

	"gradatim/score"
)

// Hands lists whose staves the page has, from the top.
func (p Page) Hands() []score.Hand {
	switch {
	case p.Staves == 2:
		return []score.Hand{score.Right, score.Left}
	case p.Source.Alone != 0:
		return []score.Hand{p.Source.Alone}
	}
	return []score.Hand{score.Right}
}

// leaveOut takes the staff of the other hand away from a score that is for one, with what
// is signed there. Where anything is written on it, it stays.
func (w *writer) leaveOut() {
	hand := w.Source.Alone
	if hand == 0 || w.Staves == 1 || w.crosses(hand) {
		return
	}
	w.Staves = 1
	for b := range w.Bars {
		bar := &w.Bars[b]
		bar.Voices = slices.DeleteFunc(bar.Voices, func(v Voice) bool { return v.Hand != hand })
		bar.Clefs = slices.DeleteFunc(bar.Clefs, func(c ClefChange) bool { return c.Staff != hand })
		for i := range bar.Signs {
			bar.Signs[i].Staff = hand
		}
	}
}

// crosses tells whether anything is written on the staff of the other hand.
func (w *writer) crosses(hand score.Hand) bool {
	off := func(heads []Head) bool {
		return slices.ContainsFunc(heads, func(h Head) bool { return h.Staff != hand })
	}
	for _, bar := range w.Bars {
		for _, v := range bar.Voices {
			for _, e := range v.Events {
				if off(e.Heads) || slices.ContainsFunc(e.Graces, func(g Grace) bool { return off(g.Heads) }) {
					return true
				}
			}
		}
	}
	return false
}
