package arrange

import (
	"cmp"
	"context"
	"slices"

	"gradatim/internal/choice"
	"gradatim/internal/technique"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

// Stretch is a part of a bar under one chord: what a figure fills.
type Stretch struct {
	At, End theory.Dur
	Chord   theory.Chord // zero: none
}

// Figure is one way in which a hand could fill a stretch.
type Figure struct {
	choice.Figure               // with its tones as the page would spell them; none: the hand rests
	Say           reason.Reason // what it is
	// Extra is by how much the cheapest whole page that has it is dearer than the
	// plan's: 0 for the figure that the plan has, below 0 where a choice keeps a better
	// one away.
	Extra int
}

// Stretches lists what figures are chosen for, in order.
func (pl Plan) Stretches() []Stretch {
	out := make([]Stretch, len(pl.p.cells))
	for i := range out {
		c := &pl.p.cells[i]
		out[i] = Stretch{c.At, c.End, c.Chord}
	}
	return out
}

// Figures lists all figures that a hand may play in the stretch that holds a moment:
// first the one that the plan has, then the others by what they would cost the whole
// page, those of the technique that the level names earlier first. A figure that is
// chosen, see With, costs just its Extra, chords and octave being what they are. A
// locked bar has one figure. The error is the context's.
func (pl Plan) Figures(ctx context.Context, at theory.Dur, h score.Hand) ([]Figure, error) {
	i := pl.p.cellAt(at)
	if i < 0 {
		return nil, nil
	}
	l, err := pl.p.full.get(ctx)
	if err != nil {
		return nil, err
	}
	q := *pl.p
	q.spelling = map[spellKey]theory.Name{}
	c := &l.cells[i]
	lefts, rights := l.path()
	all, mine := *c.deal, &c.deal.left
	chosen := c.deal.left[lefts[i]]
	if h == score.Right {
		mine, chosen = &c.deal.right, c.deal.right[rights[i]]
	}
	if !c.deal.locked {
		list := q.figures(c, h)
		for _, m := range *mine { // one that the teacher wrote is on no list
			if !slices.ContainsFunc(list, func(o candidate) bool { return is(o.option, q.figure(c, h, m)) }) {
				list = append(list, m)
			}
		}
		if h == score.Right {
			all.right = list
		} else {
			all.left = list
		}
	}
	extra := l.through(i, &all)
	list := all.left
	if h == score.Right {
		list = all.right
	}
	best := make([]int, len(list))
	for k := range best {
		best[k] = absent
	}
	for k, v := range extra {
		a := k / len(all.right)
		if h == score.Right {
			a = k % len(all.right)
		}
		best[a] = min(best[a], int(v))
	}
	var out []Figure
	seen := map[string]int{}
	first := q.figure(c, h, chosen)
	bar := q.song.Bars[c.bar]
	now := -1
	for k, o := range list {
		if best[k] >= absent {
			continue
		}
		f := Figure{q.figure(c, h, o), o.Say, best[k]}
		text := f.Text(bar)
		if j, ok := seen[text]; ok { // the same notes for another reason
			out[j].Extra = min(out[j].Extra, f.Extra)
			continue
		}
		if now < 0 && is(o.option, first) {
			now = len(out)
		}
		seen[text] = len(out)
		out = append(out, f)
	}
	if now >= 0 {
		f := out[now]
		out = slices.Insert(slices.Delete(out, now, now+1), 0, f)
		slices.SortStableFunc(out[1:], func(a, b Figure) int { return cmp.Compare(a.Extra, b.Extra) })
	}
	return out, nil
}

// figure is a candidate as the teacher can choose it.
func (p *piece) figure(c *cell, h score.Hand, o candidate) choice.Figure {
	f := choice.Figure{Hand: h, By: o.by, Tones: slices.Clone(o.Tones)}
	for k := range f.Tones {
		f.Tones[k].Pitch = p.asSpelled(c, f.Tones[k])
	}
	return f
}

// asSpelled is the pitch of a tone as the page writes it.
func (p *piece) asSpelled(c *cell, t technique.Tone) theory.Pitch {
	switch t.Kind {
	case score.Chord, score.Tension, score.Bass, score.Fill, score.GhostNote:
		if !p.locked(c.bar) {
			return p.spelled(c, t.Pitch)
		}
	}
	return t.Pitch
}

// Chords lists all that may stand in the place of the sheet's chord at a moment: first
// what the plan has, then the others by what they would cost the whole page. Two that
// give the same chords are one. nil: the sheet has no chord there.
func (pl Plan) Chords(at theory.Dur) []Alternative {
	for _, st := range pl.p.progression.stages {
		s := pl.p.an.Spans[st.span]
		if at < s.At || at >= s.End {
			continue
		}
		var out []Alternative
		for _, i := range st.order() {
			a := Alternative{Device: st.readings[i].device, Chords: st.readings[i].chordsOf(), Extra: st.extra[i]}
			if !slices.ContainsFunc(out, func(b Alternative) bool { return sameChords(a.Chords, b.Chords) }) {
				out = append(out, a)
			}
		}
		return out
	}
	return nil
}

func sameChords(a, b []technique.Chord) bool {
	return slices.EqualFunc(a, b, func(a, b technique.Chord) bool {
		return a.At == b.At && a.End == b.End && a.Chord == b.Chord
	})
}
