package grade

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/words"
)

// local is a measure that can be taken of a few bars and compared with the whole.
type local struct {
	weight int // as of a Feature, doubled for both hands together
	whole  int // the whole score's z
	norm   norm
	value  func(from, to int) (int, bool) // in bars [from, to); false: nothing there
	text   func(from, to int) any         // a clause of package words; nil: it cannot be said in plain words
}

// above is how far bars [from, to) lie above the whole, in thousandths of a
// standard deviation.
func (l local) above(from, to int) int {
	v, ok := l.value(from, to)
	if !ok {
		return 0
	}
	return l.norm.z(v) - l.whole
}

// locals lists the measures that hardest compares: those that a few bars have of
// their own.
func (p *page) locals(fs []Feature) []local {
	var out []local
	add := func(id string, hand int, n norm, value func(from, to int) (int, bool), text func(from, to int) any) {
		for _, f := range fs {
			if f.ID == id && (hand < 0 && f.Hand == 0 || hand >= 0 && f.Hand == hands[hand]) {
				out = append(out, local{share(f), f.z, n, value, text})
			}
		}
	}
	for i := range hands {
		add("speed", i, speedNorm[i], func(from, to int) (int, bool) {
			us := p.microseconds(p.bars[to-1].End() - p.bars[from].At)
			if us <= 0 {
				return 0, false
			}
			return int(int64(p.sums(i, from, to).strikes) * 1_000_000_000 / us), true
		}, func(from, to int) any { return p.busy(i, from, to) })
		add("moves", i, movesNorm[i], func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.points * 1000 / max(1, 2*t.steps), t.steps > 0
		}, func(from, to int) any { return p.moves(i, from, to) })
		add("polyphony", i, polyphonyNorm[i], func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.sounding * 1000 / max(1, t.strikes), t.strikes > 0
		}, func(from, to int) any { return p.chords(i, from, to) })
		add("fingering", i, fingeringNorm, func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.effort * 1000 / max(1, t.notes), t.notes > 0
		}, func(_, _ int) any { return does(i, "awkward") })
	}
	add("rhythm", -1, rhythmNorm, func(from, to int) (int, bool) {
		u := p.pulseSums(from, to)
		return u.points() * 1000 / max(1, u.beats), u.beats > 0
	}, func(from, to int) any {
		switch u := p.pulseSums(from, to); {
		case u.crossing >= max(u.held, u.uneven):
			return words.Tell("grade.cause.crossing")
		case u.uneven > u.held:
			return words.Tell("grade.cause.uneven")
		}
		return words.Tell("grade.cause.held")
	})
	outside := func(from, to int) (altered, notes int) {
		a, b := p.sums(0, from, to), p.sums(1, from, to)
		return a.altered + b.altered, a.notes + b.notes
	}
	add("accidentals", -1, accidentalNorm, func(from, to int) (int, bool) {
		a, n := outside(from, to)
		return a * 1000 / max(1, n), n > 0
	}, func(from, to int) any {
		a, _ := outside(from, to)
		return words.Tell("grade.cause.outside", "n", a)
	})
	return out
}

// does says of a hand what it does.
func does(i int, what string, parts ...any) words.Message {
	return words.Tell("grade.cause."+what, append([]any{"Hand", handOf(i)}, parts...)...)
}

// busy says how often a hand strikes to a beat in bars [from, to); nil where it is
// less than once.
func (p *page) busy(i, from, to int) any {
	beats := 0
	for _, b := range p.bars[from:to] {
		beats += pulsesOf(b)
	}
	switch per := p.sums(i, from, to).strikes * 100 / max(1, beats); {
	case per >= 350:
		return does(i, "busy.four")
	case per >= 250:
		return does(i, "busy.three")
	case per >= 150:
		return does(i, "busy.two")
	case per >= 110:
		return does(i, "busy.more")
	case per >= 75:
		return does(i, "busy.one")
	}
	return nil
}

// mostNotes is the size of the largest chord of one hand that is told of.
const mostNotes = 5

// chords says what a hand takes together in bars [from, to): the one or two
// commonest sizes of its chords.
func (p *page) chords(i, from, to int) any {
	var sizes [mostNotes + 1]int
	strikes, chords, held := 0, 0, 0
	for _, st := range p.within(i, from, to) {
		strikes++
		n := min(st.keys.size(), len(sizes)-1)
		if n > 1 {
			sizes[n]++
			chords++
		} else if st.sounding > n {
			held++
		}
	}
	if 4*chords < strikes {
		if 4*held < strikes {
			return nil
		}
		return does(i, "holds")
	}
	first, second := 0, 0
	for n, times := range sizes {
		switch {
		case times > sizes[first]:
			first, second = n, first
		case times > sizes[second]:
			second = n
		}
	}
	switch {
	case 4*sizes[second] < chords && first == 2:
		return does(i, "pairs")
	case 4*sizes[second] < chords:
		return does(i, "chords", "Notes", numeral(first))
	}
	return does(i, "mixed-chords", "Fewer", numeral(min(first, second)), "More", numeral(max(first, second)))
}

// numeral is a small number as a word.
func numeral(n int) words.Message { return words.Tell(fmt.Sprintf("numeral.%d", n)) }

// causes lists the two strongest causes that lift bars [from, to) above the whole, of
// those that can be said.
func causes(ls []local, from, to int) []any {
	type cause struct{ l, by int }
	var cs []cause
	for i, l := range ls {
		if by := l.weight * l.above(from, to); by > 0 {
			cs = append(cs, cause{i, by})
		}
	}
	slices.SortStableFunc(cs, func(a, b cause) int { return cmp.Compare(b.by, a.by) })
	var out []any
	for _, c := range cs {
		if said := ls[c.l].text(from, to); said != nil && len(out) < 2 {
			out = append(out, said)
		}
	}
	return out
}

// Text says what makes a passage hard, in clauses.
func (p Passage) Text(w *words.Words) string {
	if len(p.causes) == 0 {
		return w.Say("grade.cause.more")
	}
	out := make([]string, len(p.causes))
	for i, c := range p.causes {
		out[i] = w.Value(c)
	}
	return strings.Join(out, "; ")
}
