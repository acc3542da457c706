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
	text   func(from, to int) string      // "": it cannot be said in plain words
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
	add := func(id string, hand int, r reference, value func(from, to int) (int, bool), text func(from, to int) string) {
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
		}, func(from, to int) string { return spoken(name, p.busy(i, from, to)) })
		add("moves", i, movesTable[i], func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.points * 1000 / max(1, 2*t.steps), t.steps > 0
		}, func(from, to int) string { return spoken(name, p.moves(i, from, to)) })
		add("polyphony", i, polyphonyTable[i], func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.sounding * 1000 / max(1, t.strikes), t.strikes > 0
		}, func(from, to int) string { return spoken(name, p.chords(i, from, to)) })
		add("fingering", i, fingeringTable, func(from, to int) (int, bool) {
			t := p.sums(i, from, to)
			return t.effort * 1000 / max(1, t.notes), t.notes > 0
		}, func(_, _ int) string { return name + "is awkward to finger" })
	}
	add("rhythm", -1, rhythmTable, func(from, to int) (int, bool) {
		u := p.pulseSums(from, to)
		return u.points() * 1000 / max(1, u.beats), u.beats > 0
	}, func(from, to int) string {
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
	}, func(from, to int) string {
		a, _ := outside(from, to)
		return fmt.Sprintf("%s %s outside the key", count(a, "note"), choose(a, "lies", "lie"))
	})
	return out
}

// spoken puts a hand before what it does.
func spoken(hand, does string) string {
	if does == "" {
		return ""
	}
	return hand + does
}

// busy says how often a hand strikes to a beat in bars [from, to); "" where it is
// less than once.
func (p *page) busy(i, from, to int) string {
	beats := 0
	for _, b := range p.bars[from:to] {
		beats += pulsesOf(b)
	}
	switch per := p.sums(i, from, to).strikes * 100 / max(1, beats); {
	case per >= 350:
		return "plays four times or more to a beat"
	case per >= 250:
		return "plays about three times to a beat"
	case per >= 150:
		return "plays about twice to a beat"
	case per >= 110:
		return "plays on almost every beat and between"
	case per >= 75:
		return "plays on almost every beat"
	}
	return ""
}

// numerals are the sizes of chords in words.
var numerals = [...]string{2: "two", 3: "three", 4: "four", 5: "five"}

// chords says what a hand takes together in bars [from, to): the one or two
// commonest sizes of its chords.
func (p *page) chords(i, from, to int) string {
	var sizes [len(numerals)]int
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
			return ""
		}
		return "holds notes while it plays others"
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
		return "plays two notes together"
	case 4*sizes[second] < chords:
		return "plays chords of " + numerals[first] + " notes"
	}
	return "plays chords of " + numerals[min(first, second)] + " and " + numerals[max(first, second)] + " notes"
}

// say names the two strongest causes that lift bars [from, to) above the whole, of
// those that can be said.
func say(ls []local, from, to int) string {
	type cause struct{ l, by int }
	var cs []cause
	for i, l := range ls {
		if by := l.weight * l.above(from, to); by > 0 {
			cs = append(cs, cause{i, by})
		}
	}
	slices.SortStableFunc(cs, func(a, b cause) int { return cmp.Compare(b.by, a.by) })
	text, said := "", 0
	for _, c := range cs {
		t := ls[c.l].text(from, to)
		if t == "" || said == 2 {
			continue
		}
		if said++; text != "" {
			text += "; "
		}
		text += t
	}
	if text == "" {
		return "more comes together than elsewhere"
	}
	return text
}
