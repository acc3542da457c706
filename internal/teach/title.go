package teach

import (
	"strings"

	"gradatim/internal/technique"
	"gradatim/internal/words"
)

// title says what a level is about: what its own file calls it, or else what this page
// teaches, as that differs from tune to tune. Of its subject it names the left hand's
// technique that fills most bars, and the one of the other stages that does; of
// equals, the first in teaching order. No subject: "".
func (w *writer) title(p *page, news []New) string {
	if p.Level.Title != "" {
		return p.Level.Title
	}
	var left, other *New
	for i := range news {
		n := &news[i]
		best := &other
		if t, ok := technique.ByID(n.Technique); ok && t.Stage == technique.LeftHand {
			best = &left
		}
		if *best == nil || len(n.Bars) > len((*best).Bars) {
			*best = n
		}
	}
	var names []string
	for _, n := range []*New{left, other} {
		if n != nil {
			names = append(names, w.words.Technique(n.Technique).Name)
		}
	}
	return words.Upper(strings.Join(names, "; "))
}
