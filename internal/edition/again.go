package edition

import (
	"cmp"
	"slices"

	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/score"
	"gradatim/theory"
)

// changes tells whether loudness changes within a stretch.
func changes(s score.Score, from, to theory.Dur) bool {
	return slices.ContainsFunc(s.Directions, func(d score.Direction) bool {
		switch d.Kind {
		case score.Dynamic, score.Crescendo, score.Diminuendo:
			return d.At > from && d.At < to
		}
		return false
	})
}

// grown is a step louder, for a tune's last strain; loud stays loud.
var grown = map[string]string{"p": "mp", "mp": "mf", "mf": "f"}

// again says of what is printed once and played twice how loud it is the second time: the
// last of the repeats as the kind closes the tune, or a step louder, the others as it plays a section that
// is heard again at once. What follows says its own sign again.
func again(w *words.Words, p Page) score.Score {
	s := p.Score
	if p.Level.Dynamics < ladder.SectionDynamics || !s.Repeats() {
		return s
	}
	type repeat struct{ first, last, after int } // bars; after: the first behind all its endings
	var rs []repeat
	first := 0
	for i, b := range s.Bars {
		if b.Signs.Start || b.Part != s.Bars[first].Part {
			first = i
		}
		if b.Signs.Times != 2 || s.Bars[first].Part != score.Tune {
			continue
		}
		after := i + 1
		for after < len(s.Bars) && s.Bars[after].Signs.Ending != 0 && !s.Bars[after].Signs.Start {
			after++
		}
		rs = append(rs, repeat{first, i, after})
		first = min(i+1, len(s.Bars)-1)
	}
	dyn := p.Kind.Dynamics
	s.Directions = slices.Clone(s.Directions)
	for k, r := range rs {
		at := s.Bars[r.first].At
		if changes(s, at, s.Bars[r.last].End()) {
			continue // one sign for the second time says nothing of these
		}
		now := s.DynamicAt(at, score.Right)
		sign := dyn.Again
		if k == len(rs)-1 {
			sign = cmp.Or(dyn.Return, grown[now])
		}
		if sign == "" || sign == now {
			continue
		}
		s.Directions = append(s.Directions, score.Direction{At: at, Kind: score.Words, Hand: score.Right, Text: w.Say("page.again", "Sign", sign)})
		if r.after == len(s.Bars) {
			continue
		}
		next := s.Bars[r.after].At
		if !slices.ContainsFunc(s.Directions, func(d score.Direction) bool { return d.Kind == score.Dynamic && d.At == next }) {
			s.Directions = append(s.Directions, score.Direction{At: next, Kind: score.Dynamic, Hand: score.Right, Text: cmp.Or(s.DynamicAt(next, score.Right), now)})
		}
	}
	slices.SortStableFunc(s.Directions, func(a, b score.Direction) int { return cmp.Compare(a.At, b.At) })
	return s
}
