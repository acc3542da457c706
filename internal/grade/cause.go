package grade

import (
	"cmp"
	"fmt"
	"slices"
)

// local is a measure that can be taken of a few bars and compared with the whole.
type local struct {
	weight int // as of a Feature, doubled for both hands together
	whole  int // the whole score's z
	norm   norm
	value  func(from, to int) (int, bool) // in bars [from, to); false: nothing there
	text   func(from, to, value int) string
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
	add := func(id string, hand int, r reference, value func(from, to int) (int, bool), text func(from, to, value int) string) {
		for _, f := range fs {
			if f.ID == id && (hand < 0 && f.Hand == 0 || hand >= 0 && f.Hand == hands[hand]) {
				out = append(out, local{share(f), f.z, r.norm(), value, text})
			}
		}
	}
	for i := range hands {
		name := "the " + hands[i].String() + " hand "
		add("speed", i, speeds(betweenTable[i]), func(from, to int) (int, bool) {
			us := p.microseconds(p.bars[to-1].End() - p.bars[from].At)
			if us <= 0 {
				return 0, false
			}
			return int(int64(p.sums(i, from, to).strikes) * 1_000_000_000 / us), true
		}, func(_, _, v int) string { return fmt.Sprintf("%sstrikes %s times a second", name, tenths(v)) })
		add("displacement", i, displacementTable[i], func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.points * 1000 / max(1, 2*t.steps), t.steps > 0
		}, func(from, to, _ int) string { return name + p.moves(i, from, to) })
		add("polyphony", i, polyphonyTable[i], func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.sounding * 1000 / max(1, t.strikes), t.strikes > 0
		}, func(_, _, v int) string { return fmt.Sprintf("%shas %s notes down at once", name, tenths(v)) })
		add("fingering", i, fingeringTable, func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.effort * 1000 / max(1, t.notes), t.notes > 0
		}, func(_, _, _ int) string { return name + "is awkward to finger" })
	}
	add("rhythm", -1, rhythmTable, func(from, to int) (int, bool) {
		u := p.pulseSums(from, to)
		return u.points() * 1000 / max(1, u.beats), u.beats > 0
	}, func(from, to, _ int) string {
		switch u := p.pulseSums(from, to); {
		case u.crossing >= max(u.held, u.uneven):
			return "the hands fall between each other's notes"
		case u.uneven > u.held:
			return "the beat is divided unusually"
		}
		return "notes are held over the beat"
	})
	outside := func(from, to int) (altered, notes int) {
		a, b := p.sums(0, from, to), p.sums(1, from, to)
		return a.altered + b.altered, a.notes + b.notes
	}
	add("accidentals", -1, accidentalTable, func(from, to int) (int, bool) {
		a, n := outside(from, to)
		return a * 1000 / max(1, n), n > 0
	}, func(from, to, _ int) string {
		a, _ := outside(from, to)
		return count(a, "note") + " outside the key"
	})
	return out
}

// say names the two strongest causes that lift bars [from, to) above the whole.
func say(ls []local, from, to int) string {
	type cause struct{ l, by int }
	var cs []cause
	for i, l := range ls {
		if by := l.weight * l.above(from, to); by > 0 {
			cs = append(cs, cause{i, by})
		}
	}
	slices.SortStableFunc(cs, func(a, b cause) int { return cmp.Compare(b.by, a.by) })
	text := ""
	for _, c := range cs[:min(2, len(cs))] {
		if text != "" {
			text += "; "
		}
		l := ls[c.l]
		v, _ := l.value(from, to)
		text += l.text(from, to, v)
	}
	return text
}
