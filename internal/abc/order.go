package abc

import (
	"slices"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
)

// step is one bar in playing order.
type step struct {
	bar  int    // written bar
	time int    // which of several chords over one note is meant: 1, 2, …
	of   int    // passes of its section
	mark bool   // a section of the form begins with the bar
	name string // of that section, where the page names it
}

// part is a labelled run of written bars.
type part struct {
	name        string
	first, last int // bars; last is not in it
}

func (r *reader) parts() []part {
	var out []part
	for i := range r.bars {
		if r.bars[i].opens {
			if n := len(out); n > 0 {
				out[n-1].last = i
			}
			out = append(out, part{r.bars[i].part, i, len(r.bars)})
		}
	}
	return out
}

// route puts the written bars into playing order: through the order of parts
// that the header gives, else straight through.
//
// An order such as P:AABB over parts that carry repeat signs themselves is
// ambiguous: ABC 2.1 plays each repeat each time, while collections count the
// repeats in the letters. Where a repeated part is named twice in a row the
// letters are taken to count (literal: they are not), and the reader says so. A sheet that
// means them literally says %%gradatim-order literal, which is a directive of our own, as
// the standard lets programs have (ABC 2.1, 11.1).
func (r *reader) route(literal bool) []step {
	parts := r.parts()
	if r.order == "" {
		return r.walk(0, len(r.bars), parts)
	}
	order, byName := r.readOrder(parts)
	if r.stopped || len(order) == 0 {
		return r.walk(0, len(r.bars), parts)
	}
	var steps []step
	if first := parts[0].first; first > 0 { // what stands before the first label opens the tune
		steps = r.walk(0, first, nil)
	}
	walks := make(map[byte][]step)
	counted := false
	for i, c := range order {
		if walks[c] == nil {
			walks[c] = r.walk(byName[c].first, byName[c].last, parts)
		}
		counted = counted || !literal && !r.literally && i > 0 && order[i-1] == c && passes(walks[c]) > 1
	}
	if counted {
		r.warn(outside(r.orderAt), "repeats-counted")
	}
	played := make(map[byte]int)
	used := make([]bool, len(r.bars))
	for i, c := range order {
		played[c]++
		w := walks[c]
		if n := passes(w); counted && n > 1 {
			w = onePass(w, passOf(order, i, n))
		}
		if len(steps)+len(w) > roadmap.MaxPlayedBars {
			r.fail(outside(r.orderAt), "too-long.parts", "Most", roadmap.MaxPlayedBars)
			return nil
		}
		for _, s := range w {
			if s.of == 1 {
				s.time = played[c]
			}
			used[s.bar] = true
			steps = append(steps, s)
		}
	}
	for _, p := range parts {
		if !slices.Contains(used[p.first:p.last], true) {
			r.warn(where{place{r.bars[p.first].line, 0}, -1, 0}, "part-unplayed", "Part", p.name)
		}
	}
	return steps
}

// readOrder reads the header's order of parts and drops letters that the tune
// does not have.
func (r *reader) readOrder(parts []part) ([]byte, map[byte]part) {
	at := outside(r.orderAt)
	order, rest, long := partOrder(r.order)
	if long {
		r.fail(at, "too-long.order", "Most", roadmap.MaxPlayedBars)
		return nil, nil
	}
	if rest != "" {
		r.warn(at, "part-order.rest", "Rest", leadsheet.Quoted(clip(rest)))
	}
	byName := make(map[byte]part)
	for _, p := range parts {
		if len(p.name) > 1 {
			continue
		}
		if _, twice := byName[p.name[0]]; twice {
			r.warn(where{place{r.bars[p.first].line, 0}, -1, 0}, "part-twice", "Part", p.name)
			continue
		}
		byName[p.name[0]] = p
	}
	missing := make(map[byte]bool)
	order = slices.DeleteFunc(order, func(c byte) bool {
		_, ok := byName[c]
		if !ok && !missing[c] {
			missing[c] = true
			r.warn(at, "part-missing", "Part", string(c))
		}
		return !ok
	})
	if len(order) == 0 {
		r.warn(at, "part-order.none")
	}
	return order, byName
}

// passes returns how often a part is played through by its own signs where all
// of it is one repeated section, else 1.
func passes(w []step) int {
	if len(w) == 0 || slices.ContainsFunc(w, func(s step) bool { return s.of != w[0].of }) {
		return 1
	}
	return w[0].of
}

// passOf tells which pass of n the letter at place i of an order stands for: in
// a run of equal letters first, second …, and the last one for the last.
func passOf(order []byte, i, n int) int {
	if i+1 == len(order) || order[i+1] != order[i] {
		return n
	}
	k := 1
	for i-k >= 0 && order[i-k] == order[i] {
		k++
	}
	return min(k, n)
}

func onePass(w []step, pass int) []step {
	var out []step
	for _, s := range w {
		if s.time == pass {
			out = append(out, s)
		}
	}
	return out
}

// walk writes the repeats of the bars from first up to last out, and marks where
// sections of the form begin: at labels where the tune has any, else at repeats,
// their passes and double bars.
func (r *reader) walk(first, last int, parts []part) []step {
	signs := make([]roadmap.Signs, last-first)
	for i := range signs {
		signs[i] = r.bars[first+i].signs
	}
	visits, problems := roadmap.Route(signs)
	for _, p := range problems {
		at := where{place{r.bars[first+p.Bar].line, 0}, first + p.Bar, 0}
		r.add(p.Severity, at, p.Says, p.Parts...)
	}
	out := make([]step, len(visits))
	for i, v := range visits {
		b := r.bars[first+v.Bar]
		s := step{bar: first + v.Bar, time: v.Pass, of: v.Passes}
		back := i > 0 && v.Bar <= visits[i-1].Bar
		if len(parts) > 0 {
			// A repeat goes back to the label, or to the sign behind its pick-up.
			if k := s.bar - startOf(parts, s.bar); b.opens || back && k <= 1 && b.part != "" {
				s.mark, s.name = true, b.part[:1]
			}
		} else if i == 0 || back || b.double || b.signs.Start || b.signs.Break {
			s.mark = true
		} else if prev := signs[visits[i-1].Bar]; b.signs.Ending == 0 && (prev.Times > 0 || prev.Ending != 0) {
			s.mark = true
		}
		out[i] = s
	}
	return out
}

// startOf returns the first bar of the part that holds a bar.
func startOf(parts []part, bar int) int {
	first := 0
	for _, p := range parts {
		if p.first <= bar {
			first = p.first
		}
	}
	return first
}
