package abc

import (
	"math"
	"strconv"
	"strings"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// parseMeter reads the value of an M: field: "4/4", "C", "C|", "(2+3)/8", "2/4+3/8",
// "none".
// free is true for music without metre; ok is false where nothing can be read.
func parseMeter(value string) (m leadsheet.Meter, free, ok bool) {
	switch v := strings.TrimSpace(value); strings.ToLower(v) {
	case "c":
		return leadsheet.Meter{Beats: 4, Unit: 4, Symbol: "C"}, false, true
	case "c|":
		return leadsheet.Meter{Beats: 2, Unit: 2, Symbol: "C|"}, false, true
	case "none", "":
		return leadsheet.Meter{}, true, true
	default:
		m, ok = sumMeter(strings.Map(func(r rune) rune {
			if r == ' ' || r == '(' || r == ')' {
				return -1
			}
			return r
		}, v))
		return m, false, ok
	}
}

// sumMeter reads a metre of one or several numbers over one or several units; those
// of several are its groups.
func sumMeter(v string) (m leadsheet.Meter, ok bool) {
	type group struct{ n, unit int }
	var groups []group
	open, unit := 0, 0
	for part := range strings.SplitSeq(v, "+") {
		beats, below, has := strings.Cut(part, "/")
		n, good := number(beats)
		if !good || n == 0 || n > 64 || len(groups) == 64 {
			return m, false
		}
		groups = append(groups, group{n: n})
		if !has {
			continue
		}
		u, good := number(below)
		if !good || u == 0 || u > 64 {
			return m, false
		}
		for ; open < len(groups); open++ {
			groups[open].unit = u
		}
		unit = max(unit, u)
	}
	if open < len(groups) {
		return m, false
	}
	m.Unit = unit
	parts := make([]int, len(groups))
	for i, g := range groups {
		if unit%g.unit != 0 {
			return m, false
		}
		parts[i] = g.n * (unit / g.unit)
		m.Beats += parts[i]
	}
	if len(parts) > 1 {
		if m, ok = m.Grouped(parts...); !ok {
			return m, false
		}
		m.Symbol = m.Parts
	}
	return m, m.Valid()
}

// unitFor is the length of a note without a figure where no L: field gives one
// (ABC 2.1, section 3.1.7): a sixteenth in metres below 3/4, else an eighth.
func unitFor(m leadsheet.Meter) frac {
	if m.Unit > 0 && 4*m.Beats < 3*m.Unit {
		return frac{1, 16}
	}
	return frac{1, 8}
}

// parseUnit reads the value of an L: field.
func parseUnit(value string) (frac, bool) {
	n, d, ok := parseFraction(strings.TrimSpace(value))
	if !ok || n > d {
		return frac{}, false
	}
	return reduce(int64(n), int64(d)), true
}

// parseFraction reads "3/8" or "1" with small positive figures.
func parseFraction(s string) (n, d int, ok bool) {
	top, bottom, has := strings.Cut(s, "/")
	n, ok = number(top)
	d = 1
	if has && ok {
		d, ok = number(bottom)
	}
	return n, d, ok && n > 0 && d > 0 && n <= 512 && d <= 512
}

// number reads a whole number of at most five figures.
func number(s string) (int, bool) {
	if s == "" || len(s) > 5 {
		return 0, false
	}
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = 10*n + int(s[i]-'0')
	}
	return n, true
}

// parseTempo reads the value of a Q: field: `1/4=120`, `"Allegro" 1/4=120`,
// `3/8=50 "Slowly"`, `1/4 3/8 1/4=40` (the lengths add up), and the old forms
// `120` and `C3=40`, which count in units of unit; old tells of them. rounded is
// true where a broken figure was rounded.
func parseTempo(value string, unit frac) (t leadsheet.Tempo, old, rounded, ok bool) {
	rest := value
	if a, b, has := strings.Cut(rest, `"`); has {
		words, after, closed := strings.Cut(b, `"`)
		if !closed {
			return t, false, false, false
		}
		t.Words = plain(words)
		rest = a + " " + after
	}
	rest = strings.TrimSpace(rest)
	if rest == "" {
		return t, false, false, t.Words != ""
	}
	beats, figure, has := strings.Cut(rest, "=")
	if !has {
		beats, figure = "C", rest
	}
	per, err := strconv.ParseFloat(strings.TrimSpace(figure), 64)
	if err != nil || !(per >= 1 && per <= 1000) {
		return t, false, false, false
	}
	t.PerMinute = int(math.Round(per))
	sum := frac{0, 1}
	for _, b := range strings.Fields(beats) {
		l := unit
		if b[0] == 'C' || b[0] == 'c' {
			old = true
			n, d := 1, 1
			if b = b[1:]; b != "" {
				var good bool
				if n, d, good = parseFraction(b); !good {
					return t, old, false, false
				}
			}
			l = l.times(int64(n), int64(d))
		} else {
			n, d, good := parseFraction(b)
			if !good {
				return t, old, false, false
			}
			l = reduce(int64(n), int64(d))
		}
		sum = sum.plus(l)
	}
	d, exact := sum.dur()
	if d <= 0 || d > 4*theory.Whole {
		return t, old, false, false
	}
	t.Beat = d
	if q := t.QuartersPerMinute(); q < leadsheet.MinQuarters || q > leadsheet.MaxQuarters {
		return t, old, false, false
	}
	return t, old, !exact || float64(t.PerMinute) != per, true
}

// parsePart reads the label of a part in the body of a tune: one capital letter,
// perhaps with words behind it ("B Alt", then words is true).
func parsePart(value string) (name string, words, ok bool) {
	v := strings.TrimSpace(value)
	if v == "" || v[0] < 'A' || v[0] > 'Z' {
		return "", false, false
	}
	if len(v) == 1 || v == v[:1]+"." {
		return v[:1], false, true
	}
	if v[1] == ' ' {
		return v, true, true
	}
	return "", false, false
}

// partOrder reads the value of a P: field of the header, such as "AABA" or
// "A(AB)3.C2" (ABC 2.1, section 3.1.9), into the letters in playing order. It
// stops at the first sign that it cannot read; rest is what was left. long is
// true where the order names more parts than any tune may have bars.
func partOrder(value string) (order []byte, rest string, long bool) {
	p := orderParser{s: value}
	order, long = p.sequence(0)
	return order, strings.TrimSpace(p.s[p.i:]), long
}

type orderParser struct {
	s string
	i int
}

func (p *orderParser) sequence(depth int) (out []byte, long bool) {
	for p.i < len(p.s) {
		var group []byte
		switch c := p.s[p.i]; {
		case c == ' ' || c == '.' || c == ',':
			p.i++
			continue
		case c >= 'A' && c <= 'Z':
			group = []byte{c}
			p.i++
		case c == '(' && depth < MaxPartDepth:
			open := p.i
			p.i++
			if group, long = p.sequence(depth + 1); long {
				return nil, true
			}
			if p.i == len(p.s) || p.s[p.i] != ')' {
				p.i = open
				return out, false
			}
			p.i++
		default:
			return out, false
		}
		times, digits := 0, p.i
		for p.i < len(p.s) && p.s[p.i] >= '0' && p.s[p.i] <= '9' {
			times = min(10*times+int(p.s[p.i]-'0'), roadmap.MaxPlayedBars+1)
			p.i++
		}
		if digits == p.i {
			times = 1
		}
		if len(out)+len(group)*times > roadmap.MaxPlayedBars {
			return nil, true
		}
		for range times {
			if len(group) == 0 {
				break
			}
			out = append(out, group...)
		}
	}
	return out, false
}
