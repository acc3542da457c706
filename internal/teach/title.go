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

// inOrder marks the main thing of a level and puts it first but for what of the level it
// needs itself. The others keep the teaching order, which has nothing before what it needs.
func inOrder(news []New) []New {
	i := mainOf(news)
	if i < 0 {
		return news
	}
	news[i].Main = true
	var before, after []New
	for k, n := range news {
		switch {
		case k == i:
		case needs(news[i].Technique, n.Technique):
			before = append(before, n)
		default:
			after = append(after, n)
		}
	}
	return slices.Concat(before, news[i:i+1], after)
}

// needs tells whether a technique comes after another, by itself or through what it needs.
func needs(id, other string) bool {
	t, ok := technique.ByID(id)
	return ok && slices.ContainsFunc(t.Needs, func(n string) bool { return n == other || needs(n, other) })
}
