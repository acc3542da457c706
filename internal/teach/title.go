package teach

import (
	"slices"

	"gradatim/internal/technique"
	"gradatim/internal/words"
)

// title says what a level is about: what its own file calls it, or else the main thing of
// this page, as that differs from tune to tune. No subject: "".
func (w *writer) title(p *page, news []New) string {
	if p.Level.Title != "" {
		return p.Level.Title
	}
	if i := mainOf(news); i >= 0 {
		return words.Upper(w.words.Technique(news[i].Technique).Name)
	}
	return ""
}

// mainOf is the index of the thing that a level teaches before all others: of those that
// the level is there for, else of all, what the left hand plays in most bars, else what
// fills most bars; of equals the first in teaching order. -1: there is none.
func mainOf(news []New) int {
	best, most := -1, [3]int{}
	for i, n := range news {
		var is [3]int
		if n.Chief {
			is[0] = 1
		}
		if t, ok := technique.ByID(n.Technique); ok && t.Stage == technique.LeftHand {
			is[1] = 1
		}
		is[2] = len(n.Bars)
		if best < 0 || slices.Compare(is[:], most[:]) > 0 {
			best, most = i, is
		}
	}
	return best
}

// mainFirst puts the main thing of a level before the others, which keep their order.
func mainFirst(news []New) []New {
	i := mainOf(news)
	if i < 0 {
		return news
	}
	chief := news[i]
	chief.Main = true
	return slices.Insert(slices.Delete(news, i, i+1), 0, chief)
}
