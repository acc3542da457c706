package musicxml

import (
	"cmp"
	"slices"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// turn is what stands at one bar about the order of playing, as written.
type turn struct {
	start      bool
	times      int
	bracket    bool
	passes     []int
	bracketEnd bool
	double     bool // a double bar line after it

	segno, coda, toCoda, fine bool
	daCapo, dalSegno          bool
	alCoda                    bool
	line                      int // of the sign, for messages
}

// sign is one sign or word for the order, with its place.
type sign struct {
	bar  int
	at   theory.Dur
	line int
	g    guide
}

// turns collects the signs of all lanes; they say the same, or complete one
// another.
func (r *reader) turns(lanes []*lane, content []theory.Dur) []turn {
	n := len(content)
	turns := make([]turn, n)
	var signs []sign
	for _, l := range lanes {
		for i := range min(n, len(l.bars)) {
			for _, b := range l.bars[i].barlines {
				turnBarline(turns, i, b)
			}
			for _, d := range l.bars[i].signs {
				if g := d.guide; g.any() {
					signs = append(signs, sign{bar: i, at: d.at, line: d.line, g: g})
				}
			}
		}
	}
	codas := codaSigns(signs, turns)
	for _, s := range signs {
		t := &turns[s.bar]
		t.line = s.line
		late := content[s.bar] > 0 && 2*s.at > content[s.bar]
		if s.g.segno {
			if late && s.bar+1 < n {
				turns[s.bar+1].segno = true
			} else {
				t.segno = true
			}
		}
		if s.g.toCoda {
			before(turns, s.bar, s.at).toCoda = true
		}
		if s.g.fine {
			t.fine = true
		}
		t.daCapo = t.daCapo || s.g.daCapo
		t.dalSegno = t.dalSegno || s.g.dalSegno && !s.g.daCapo
		t.alCoda = t.alCoda || s.g.alCoda
		if s.g.times > 0 && t.times > 0 {
			t.times = s.g.times
			r.infoAt(place{line: s.line, bar: s.bar}, "repeat-count", "n", s.g.times)
		}
	}
	for _, c := range codas {
		if c.to {
			before(turns, c.bar, c.at).toCoda = true
		} else {
			i := c.bar
			if content[i] > 0 && 2*c.at > content[i] && i+1 < n {
				i++
			}
			turns[i].coda = true
		}
	}
	return turns
}

// before returns the bar after which a sign takes effect: its own, or the one
// before where it stands at the very beginning.
func before(turns []turn, bar int, at theory.Dur) *turn {
	if at == 0 && bar > 0 {
		return &turns[bar-1]
	}
	return &turns[bar]
}

// codaSign is a coda sign with its use: the way out, or the coda itself.
type codaSign struct {
	bar int
	at  theory.Dur
	to  bool
}

// codaSigns tells the coda signs apart. They look alike in both places: the last
// one begins the coda; where no "to coda" is written, those before are the way
// to it.
func codaSigns(signs []sign, turns []turn) []codaSign {
	var out []codaSign
	way := map[int]bool{} // bars with "to coda" in words
	for _, s := range signs {
		if s.g.toCoda {
			way[s.bar] = true
		}
		if s.g.coda {
			out = append(out, codaSign{bar: s.bar, at: s.at})
		}
	}
	for i := range turns {
		if turns[i].coda { // on a bar line
			out = append(out, codaSign{bar: i})
			turns[i].coda = false
		}
	}
	slices.SortStableFunc(out, func(a, b codaSign) int { return cmp.Compare(a.bar, b.bar) })
	out = slices.CompactFunc(out, func(a, b codaSign) bool { return a.bar == b.bar })
	if len(way) > 0 {
		return slices.DeleteFunc(out, func(c codaSign) bool { return way[c.bar] })
	}
	for i := 0; i+1 < len(out); i++ {
		out[i].to = true
	}
	return out
}

func turnBarline(turns []turn, i int, b *barline) {
	t := &turns[i]
	left := b.where == "left"
	if b.forward {
		t.start = t.start || left
		if !left && i+1 < len(turns) {
			turns[i+1].start = true
		}
	}
	if b.times > 0 {
		if left && i > 0 {
			t = &turns[i-1]
		}
		t.times = max(t.times, min(b.times, roadmap.MaxPasses))
		t = &turns[i]
	}
	switch b.ending {
	case "start":
		if !left && i+1 < len(turns) && b.where == "right" {
			t = &turns[i+1]
		}
		t.bracket, t.passes = true, endingNumbers(b.numbers)
		t = &turns[i]
	case "stop", "discontinue":
		if left && i > 0 && !t.bracket {
			t = &turns[i-1]
		}
		t.bracketEnd = true
		t = &turns[i]
	}
	if b.segno {
		t.segno = true
	}
	if b.coda {
		t.coda = true
	}
	switch b.style {
	case "light-light", "light-heavy", "heavy-light", "heavy-heavy":
		if left && i > 0 {
			turns[i-1].double = true
		} else if !left {
			t.double = true
		}
	}
	if t.line == 0 {
		t.line = b.line
	}
}

// endingNumbers reads "1", "1, 2", "1.-3.".
func endingNumbers(s string) []int {
	var out []int
	add := func(n int) {
		if n >= 1 && n <= roadmap.MaxPasses && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	for _, f := range strings.FieldsFunc(s, func(c rune) bool { return c == ',' || c == ' ' || c == ';' || c == '+' || c == '&' }) {
		from, to, isRange := strings.Cut(strings.ReplaceAll(f, ".", ""), "-")
		a, ok := markup.Integer(from)
		if !ok {
			continue
		}
		add(a)
		if b, ok := markup.Integer(to); isRange && ok {
			for n := a; n <= min(b, roadmap.MaxPasses); n++ {
				add(n)
			}
		}
	}
	slices.Sort(out)
	return out
}

// signs turns what is written into what roadmap.Route understands, and mends
// what real sheets leave out: endings whose bracket stops before the repeat
// sign, endings numbered 1 and 3, a Fine without D.C. before a last repeat.
func (r *reader) signs(turns []turn) []roadmap.Signs {
	out := make([]roadmap.Signs, len(turns))
	for i, t := range turns {
		out[i] = roadmap.Signs{Start: t.start, Times: t.times, Segno: t.segno, Coda: t.coda,
			ToCoda: t.toCoda, Fine: t.fine, DaCapo: t.daCapo, DalSegno: t.dalSegno}
	}
	r.endings(turns, out)
	r.jumps(turns, out)
	return out
}

// bracket is one ending with its bars.
type bracket struct {
	first, last int
	passes      []int
}

func (r *reader) endings(turns []turn, out []roadmap.Signs) {
	var group []bracket
	flush := func() {
		r.numberEndings(group, turns)
		for _, b := range group {
			for i := b.first; i <= b.last; i++ {
				out[i].Ending = leadsheet.PassesOf(b.passes...)
				out[i].EndingOpens = i == b.first
			}
		}
		group = nil
	}
	for i := 0; i < len(turns); i++ {
		if !turns[i].bracket {
			continue
		}
		b := bracket{first: i, last: r.bracketEnd(turns, i), passes: turns[i].passes}
		if n := len(group); n > 0 && (group[n-1].last+1 != i || restarts(group, b)) {
			flush()
		}
		group = append(group, b)
		i = b.last
	}
	flush()
}

// restarts tells whether a bracket begins a new set of endings though it follows
// another at once: it is a first ending again.
func restarts(group []bracket, b bracket) bool {
	return slices.Contains(b.passes, 1) && slices.Contains(group[0].passes, 1) && !slices.Contains(group[len(group)-1].passes, 1)
}

// bracketEnd finds the last bar of the ending that begins at i. A bracket that
// stops before its repeat sign is taken to reach it.
func (r *reader) bracketEnd(turns []turn, i int) int {
	closed := -1
	for j := i; j < len(turns) && (j == i || !turns[j].bracket && !turns[j].start); j++ {
		if closed < 0 && turns[j].bracketEnd {
			closed = j
		}
		if turns[j].times == 0 {
			continue
		}
		// Only a bracket that another follows reaches on to its repeat sign.
		follows := j+1 < len(turns) && turns[j+1].bracket
		if closed >= 0 && closed < j {
			if !follows {
				break
			}
			r.infoAt(place{line: turns[i].line, bar: i}, "ending-extended")
		}
		return j
	}
	return max(closed, i)
}

// numberEndings gives every pass of the group one ending.
func (r *reader) numberEndings(group []bracket, turns []turn) {
	top := 0
	used := map[int]bool{}
	for k := range group {
		b := &group[k]
		here := place{line: turns[b.first].line, bar: b.first}
		if len(b.passes) == 0 {
			b.passes = []int{top + 1}
			if turns[b.first].passes == nil && len(group) > 1 {
				r.warnAt(here, "ending-unnumbered", "Number", top+1)
			}
		}
		fresh := slices.DeleteFunc(slices.Clone(b.passes), func(n int) bool { return used[n] })
		if len(fresh) == 0 {
			r.warnAt(here, "ending-number", "Written", b.passes[0], "Number", top+1)
			fresh = []int{top + 1}
		}
		b.passes = fresh
		if k > 0 {
			var gap []int
			for n := top + 1; n < b.passes[0]; n++ {
				gap = append(gap, n)
			}
			if len(gap) > 0 {
				before := &group[k-1]
				r.warnAt(here, "ending-missing", "Number", b.passes[0], "Before", before.passes[len(before.passes)-1])
				before.passes = append(slices.Clone(before.passes), gap...)
				for _, n := range gap {
					used[n] = true
				}
			}
		}
		for _, n := range b.passes {
			used[n] = true
			top = max(top, n)
		}
	}
}

func (r *reader) jumps(turns []turn, out []roadmap.Signs) {
	last := len(turns) - 1
	jump, fine, toCoda, codas := -1, -1, false, 0
	for i, t := range turns {
		if jump < 0 && (t.daCapo || t.dalSegno) {
			jump = i
		}
		if fine < 0 && t.fine {
			fine = i
		}
		toCoda = toCoda || t.toCoda
		if t.coda {
			codas++
		}
	}
	switch {
	case jump >= 0 && turns[jump].alCoda && !toCoda && codas > 0:
		r.warnAt(place{line: turns[jump].line, bar: jump}, "to-coda-missing")
	case jump >= 0 && turns[jump].alCoda && codas == 0:
		r.warnAt(place{line: turns[jump].line, bar: jump}, "coda-missing.unmarked")
	case jump < 0 && fine >= 0 && fine < last:
		start := 0
		for i, t := range turns {
			if t.start {
				start = i
			}
		}
		here := place{line: turns[fine].line, bar: fine}
		if turns[last].times == 0 || start > fine {
			r.warnAt(here, "fine-unused")
			return
		}
		r.warnAt(here, "fine-by-repeat")
		out[last].Times = 0
		if start == 0 {
			out[last].DaCapo = true
			return
		}
		for i := range out {
			out[i].Segno = i == start
		}
		out[last].DalSegno = true
	}
}

// route returns the written bars in playing order.
func (r *reader) route(turns []turn, bars []writtenBar) ([]roadmap.Visit, bool) {
	visits, problems := roadmap.Route(r.signs(turns))
	ok := true
	for _, p := range problems {
		pl := place{line: turns[p.Bar].line, bar: p.Bar}
		if pl.line == 0 {
			pl.line = bars[p.Bar].line
		}
		r.problems.addAt(p.Severity, r.file, pl, p.Says, p.Parts...)
		ok = ok && p.Severity != leadsheet.Error
	}
	return visits, ok
}
