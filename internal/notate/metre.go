package notate

import (
	"gradatim/leadsheet"
	"gradatim/theory"
)

// metre is what a time signature asks of the eye: where the bar, its halves,
// its beats and their divisions begin. Positions count from the (perhaps
// imaginary) start of a full bar.
type metre struct {
	bar, beat theory.Dur
	sub       theory.Dur   // half of a simple beat, third of a compound one
	strong    []theory.Dur // places that nothing may hide: the middle of 4/4
	compound  bool
	regular   bool // the strong place halves the bar
	quick     bool // the strong places begin beats: 7/8
}

func metreOf(m leadsheet.Meter) metre {
	return metre{bar: m.Bar(), beat: m.Pulse(), sub: m.Division(), strong: m.Groups(), compound: m.Compound(), regular: m.Bar()/m.Pulse() <= 4 && !m.Uneven(), quick: m.Quick()}
}

const (
	levelBar = iota
	levelStrong
	levelBeat
	levelSub // and finer, one more for each halving
	levelOff = 99
)

// level ranks a position; small is strong.
func (m metre) level(p theory.Dur) int {
	p = floorMod(p, m.bar)
	if p == 0 {
		return levelBar
	}
	for _, s := range m.strong {
		if s == p {
			return levelStrong
		}
	}
	if p%m.beat == 0 {
		return levelBeat
	}
	for l, u := levelSub, m.sub; u >= theory.SixtyFourth; l, u = l+1, u/2 {
		if p%u == 0 {
			return l
		}
	}
	return levelOff
}

// inside counts the multiples of unit strictly between a and b.
func inside(a, b, unit theory.Dur) int {
	return int(floorDiv(b-1, unit) - floorDiv(a, unit))
}

// noteWhole tells whether the span may be one note: a single value (at most one
// dot) that hides no place which the metre must show. A syncopation may hide
// one beat and no more; the middle of the bar only under a note that starts the
// bar.
func (m metre) noteWhole(a, b theory.Dur) bool {
	if _, ok := valueOf(b - a); !ok || inside(a, b, m.bar) > 0 {
		return false
	}
	at, end := floorMod(a, m.bar), floorMod(a, m.bar)+b-a
	for _, s := range m.strong {
		if at < s && s < end {
			grid := m.beat
			if m.compound {
				grid = m.bar
			}
			if !m.regular && m.level(at) <= levelStrong && m.level(end) <= levelStrong {
				continue
			}
			if m.acrossMiddle(at, end) {
				continue
			}
			if !m.regular || at != 0 || end%grid != 0 {
				return false
			}
		}
	}
	if k := inside(a, b, m.beat); k > 0 {
		if m.compound {
			return a%m.beat == 0 && b%m.beat == 0
		}
		return syncopated(a, b, m.beat, k)
	}
	for u := m.sub; u > theory.SixtyFourth; u /= 2 {
		if k := inside(a, b, u); k > 0 {
			return syncopated(a, b, u, k)
		}
	}
	return true
}

// acrossMiddle tells whether a note is the long one of short, long, short: a half note
// on the second beat of 4/4 (common practice, no source).
func (m metre) acrossMiddle(at, end theory.Dur) bool {
	return m.regular && !m.compound && 4*at == m.bar && 4*end == 3*m.bar
}

func syncopated(a, b, unit theory.Dur, crossed int) bool {
	half := unit / 2
	if a%unit == 0 {
		return b%half == 0
	}
	return a%half == 0 && b%half == 0 && crossed == 1
}

// restWhole tells whether the span may be one rest. Rests show every beat; a
// dotted rest stands only for a whole compound beat or two.
func (m metre) restWhole(a, b theory.Dur) bool {
	v, ok := valueOf(b - a)
	if !ok || inside(a, b, m.bar) > 0 {
		return false
	}
	d, at := b-a, floorMod(a, m.bar)
	if m.quick && d <= 3*m.beat { // a foot, or its two first eighths
		from, foot := m.foot(at)
		return from == at && (d == foot || d == 2*m.beat && foot == 3*m.beat) || v.Dots == 0 && d <= m.beat && at%m.beat%d == 0
	}
	halfBar := m.regular && len(m.strong) == 1 && d == 2*m.beat && at%(2*m.beat) == 0
	if m.compound {
		switch {
		case halfBar, d == m.beat && at%m.beat == 0:
			return true
		case v.Dots > 0 || d > m.beat:
			return false
		case d == 2*m.sub:
			return at%m.beat == 0
		}
		return d <= m.sub && at%d == 0
	}
	return v.Dots == 0 && (halfBar || d <= m.beat && at%m.beat%d == 0 && m.beat%d == 0)
}

// foot returns where the group that holds a place begins, and how long it is.
func (m metre) foot(at theory.Dur) (from, length theory.Dur) {
	to := m.bar
	for _, s := range m.strong {
		if s <= at {
			from = s
		} else {
			to = min(to, s)
		}
	}
	return from, to - from
}

// split cuts a span at the strongest places inside it until every piece is
// whole, and returns the ends of the pieces.
func split(level func(theory.Dur) int, whole func(a, b theory.Dur) bool, a, b theory.Dur) []theory.Dur {
	if b-a <= theory.SixtyFourth || whole(a, b) {
		return []theory.Dur{b}
	}
	best, cut := levelOff, theory.Dur(0)
	for p := ceil(a+1, theory.SixtyFourth); p < b; p += theory.SixtyFourth {
		// Of places equally strong the last, so that the first note is long;
		// after an off-beat start the first, so that the beat shows at once.
		if l := level(p); l < best || l == best && level(a) <= best {
			best, cut = l, p
		}
	}
	if cut == 0 && best == levelOff {
		return []theory.Dur{b}
	}
	return append(split(level, whole, a, cut), split(level, whole, cut, b)...)
}

// valueOf returns the single note value of a length.
func valueOf(d theory.Dur) (Value, bool) {
	for base := Breve; base >= theory.SixtyFourth; base /= 2 {
		if d == base {
			return Value{base, 0}, true
		}
		if base > theory.SixtyFourth && d == base+base/2 {
			return Value{base, 1}, true
		}
	}
	return Value{}, false
}

func ceil(p, unit theory.Dur) theory.Dur { return -floorDiv(-p, unit) * unit }

func floorMod(a, n theory.Dur) theory.Dur { return ((a % n) + n) % n }

func floorDiv(a, n theory.Dur) theory.Dur { return (a - floorMod(a, n)) / n }
