package arrange

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"go/format"
	"hash/fnv"
	"maps"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/reduction"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/internal/sight"
	"gradatim/internal/technique"
	"gradatim/score"
)

// Fitting the weights of the left hand to print.
//
// Problem: a printed page says which figure a person took in each of its bars; our search
// would have offered that one and others. How dear is each fault of a figure, so that the
// person's choice is cheap among them? Objective: the choices of all bars are as likely as can
// be, where a figure's chance falls off with its cost (a conditional logit: McFadden,
// "Conditional logit analysis of qualitative choice behavior", 1974), and the weights lie near
// those that were set by hand. Each weight is a multiple of that one, so the objective is
// convex, has one optimum and asks for no order of the bars; it is found by damped steps of
// a diagonal Newton method, a fixed number of them. A figure is judged between its printed
// neighbours. What was chosen is the offered figure, or figures, least unlike the print; a
// bar that is unlike all is left out.
//
// The pages are halved by a hash of their names and each half is fitted by itself. A weight
// moves only where both halves move it the same way, and by the lesser of the two; and not
// at all where it guards a hand or a listener (guarded), which docs/weights.md argues.
//
// Rejected: an averaged perceptron over the cheapest rivals, whose weights follow the few bars
// that print and we see most differently, and rank the other half no better than weights set
// by hand; whole pages as one choice, which print has too few of; and weights by level, for
// which levels 1, 2 and 5 have too few bars.

var writeWeights = flag.Bool("weights", false, "fit the weights to printed pages anew and write them")

// faults are how much of each weight a figure pays, at the weights set by hand.
type faults [weightCount + 1]int // and last what no weight weighs

const weightCount = 27

// guarded are the weights that print does not decide.
var guarded = []string{"Shared", "Vague", "VagueArc", "OffDress", "Resort"}

// scale is by how much a figure may cost more to be e times rarer: where the weights that were
// set by hand foretell print best. prior is how many bars they count for.
const scale, prior = 64, 30

// printedChoice is the choice of a person in one cell: what was played and what else could have been.
type printedChoice struct {
	page   string
	level  int
	chosen []int // candidates that are as like as any to what is printed
	figure []faults
}

// field is the i-th of the weights.
func (w *weights) field(i int) *int {
	return reflect.ValueOf(w).Elem().Field(i).Addr().Interface().(*int)
}

func byHandField(i int) *int { by := byHand; return by.field(i) }

func fieldName(i int) string { return reflect.TypeOf(weights{}).Field(i).Name }

// only are the weights with one of them as it was set by hand, all others nothing.
func only(i int) *weights {
	w, by := weights{}, byHand
	*w.field(i) = *by.field(i)
	return &w
}

// printedPiece reads a printed page as what our search would start from: tune, chords,
// cells and offers. ok is false where it cannot.
func printedPiece(t *testing.T, s score.Score, name string, level int) (p *piece, ok bool) {
	song, _, err := reduction.OfPage(s, name)
	if err != nil {
		return nil, false
	}
	l := ladder.Levels()[level-1]
	l.Devices, l.Line = nil, nil
	an := harmony.Analyse(song)
	p, err = set(song, an, Options{Level: l}, nil)
	if err != nil {
		return nil, false
	}
	p.level.Devices, p.level.Line = nil, nil
	if err := p.read(context.Background(), nil, nil); err != nil {
		t.Fatal(err)
	}
	p.harmonise(nil, func(int) bool { return false })
	p.pushLine()
	p.cut()
	if err := p.offer(context.Background(), nil, nil); err != nil {
		t.Fatal(err)
	}
	return p, true
}

// played is what the left hand of a page strikes in a cell.
func played(left []sight.Strike, c *cell) (out []sight.Strike) {
	for _, st := range left {
		if st.At >= c.At && st.At < c.End {
			out = append(out, st)
		}
	}
	return out
}

// unlike is how far a figure is from what is printed: 6 for a strike that the other has not,
// for one that both have 1 to 6 by lowest key, number of keys and what keys they are.
func unlike(sts []sight.Strike, o *option) int {
	sum, i := 0, 0
	for k := 0; k < len(o.Tones); {
		j := struckUntil(o.Tones, k)
		for i < len(sts) && sts[i].At < o.Tones[k].At {
			sum += 6
			i++
		}
		if i == len(sts) || sts[i].At > o.Tones[k].At {
			sum += 6
			k = j
			continue
		}
		keys, has := sts[i].Keys(), o.keys[k:j]
		switch d := keys[0] - has[0]; {
		case d%12 != 0:
			sum += 2
		case d != 0:
			sum++
		}
		sum += min(2, abs(len(keys)-len(has)))
		for _, key := range keys {
			if !slices.ContainsFunc(has, func(h int) bool { return (h-key)%12 == 0 }) {
				sum += 2
				break
			}
		}
		i++
		k = j
	}
	return sum + 6*(len(sts)-i)
}

// choices finds in a printed page what its player chose, cell by cell.
func choices(p *piece, s score.Score, name string, level int) (out []printedChoice) {
	left, right := sight.Strikes(s, score.Left), sight.Strikes(s, score.Right)
	p.w = &byHand
	type found struct {
		all    []candidate
		chosen []int
	}
	at := make([]found, len(p.cells))
	for i := range p.cells {
		c := &p.cells[i]
		sts := played(left, c)
		if c.slot < 0 || c.Chord.Silent() || c.Last || len(sts) == 0 {
			continue
		}
		all := p.figures(c, score.Left)
		best := 2*len(sts) + 1
		var chosen []int
		for k := range all {
			if len(all[k].Tones) == 0 || joinsBy(all[k].by) {
				continue
			}
			if d := unlike(sts, all[k].option); d < best {
				best, chosen = d, chosen[:0]
				chosen = append(chosen, k)
			} else if d == best && len(chosen) > 0 {
				chosen = append(chosen, k)
			}
		}
		at[i] = found{all, chosen}
	}
	p.asPrinted(func(i int) []*option {
		var os []*option
		for _, k := range at[i].chosen {
			os = append(os, at[i].all[k].option)
		}
		return os
	})
	price := func(w *weights) [][]int { // of every candidate of a cell; nil where there is no choice
		p.w = w
		out := make([][]int, len(p.cells))
		for i := range p.cells {
			if len(at[i].chosen) == 0 {
				continue
			}
			c := &p.cells[i]
			rest := &option{Figure: &technique.Figure{}}
			for _, st := range played(right, c) { // what the other hand says of the chord
				for _, k := range st.Keys() {
					rest.all |= 1 << (k % 12)
					if st.At < c.half {
						rest.early |= 1 << (k % 12)
					}
				}
			}
			all := p.figures(c, score.Left)
			costs := make([]int, len(all))
			for k := range all {
				if len(all[k].Tones) == 0 || joinsBy(all[k].by) {
					costs[k] = never
					continue
				}
				both, ok := p.together(c, all[k].option, rest)
				costs[k] = all[k].cost + both
				if !ok {
					costs[k] = never
				}
				if i > 0 && len(at[i-1].chosen) > 0 {
					costs[k] += p.moveLeft(&p.cells[i-1], at[i-1].all[at[i-1].chosen[0]].option, c, all[k].option)
				}
				if i+1 < len(p.cells) && len(at[i+1].chosen) > 0 {
					costs[k] += p.moveLeft(c, all[k].option, &p.cells[i+1], at[i+1].all[at[i+1].chosen[0]].option)
				}
			}
			out[i] = costs
		}
		return out
	}
	n := weightCount
	base, full := price(&weights{}), price(&byHand)
	each := make([][][]int, n)
	for f := range n {
		each[f] = price(only(f))
	}
	for i := range p.cells {
		if len(at[i].chosen) == 0 {
			continue
		}
		pc := printedChoice{page: name, level: level}
		index := make([]int, len(full[i]))
		for k := range full[i] {
			index[k] = -1
			if full[i][k] >= never/2 {
				continue
			}
			var fs faults
			for f := range n {
				fs[f] = each[f][i][k] - base[i][k]
			}
			fs[n] = base[i][k]
			index[k] = len(pc.figure)
			pc.figure = append(pc.figure, fs)
		}
		for _, k := range at[i].chosen {
			if index[k] >= 0 {
				pc.chosen = append(pc.chosen, index[k])
			}
		}
		if len(pc.chosen) > 0 && len(pc.figure) > len(pc.chosen) {
			out = append(out, pc)
		}
	}
	return out
}

func joinsBy(id string) bool {
	t, ok := technique.ByID(id)
	return ok && t.Joins
}

// asPrinted dresses the phrases of a piece as its page does: the technique that most of the
// figures in a section have, its habit and its places.
func (p *piece) asPrinted(of func(int) []*option) {
	most := func(n map[string]int) (best string) {
		for _, id := range slices.Sorted(maps.Keys(n)) {
			if n[id] > n[best] {
				best = id
			}
		}
		return best
	}
	bySection := map[int]map[string]int{}
	for i := range p.cells {
		for _, o := range of(i) {
			sec := p.form.At(p.cells[i].bar).First
			if bySection[sec] == nil {
				bySection[sec] = map[string]int{}
			}
			bySection[sec][o.by] += 12 / len(of(i))
		}
	}
	habits, places := map[string]map[string]int{}, map[string]map[string]int{}
	key := func(c *cell) string { return fmt.Sprint(p.form.At(c.bar).First, c.Dur(), c.At-c.BarAt) }
	place := func(c *cell) string { return fmt.Sprint(p.form.At(c.bar).First, c.Chord.Lowest().Class()) }
	count := func(to map[string]map[string]int, at, what string) {
		if to[at] == nil {
			to[at] = map[string]int{}
		}
		to[at][what]++
	}
	for i := range p.cells {
		c := &p.cells[i]
		c.left, c.right, c.joins = nil, nil, false
		if id := most(bySection[p.form.At(c.bar).First]); id != "" {
			c.left, _ = technique.ByID(id)
		}
		if os := of(i); len(os) > 0 {
			count(habits, key(c), fmt.Sprint(os[0].rhythm))
			count(places, place(c), fmt.Sprint(os[0].keys[0]))
		}
	}
	for i := range p.cells {
		c := &p.cells[i]
		c.habit, c.place = 0, 0
		if p.kind.Steady && c.left != nil && !c.left.Sings && !c.Last {
			fmt.Sscan(most(habits[key(c)]), &c.habit)
			fmt.Sscan(most(places[place(c)]), &c.place)
		}
	}
}

// one is a multiple of a weight that leaves it as it was set by hand.
const one = 1 << 12

// cost is what a figure costs by multiples of the weights.
func (fs *faults) cost(m *[weightCount]int) int {
	sum := 0
	for i := range m {
		sum += fs[i] * m[i]
	}
	return sum/one + fs[weightCount]
}

// best returns the cheapest of the printed figures and the cheapest of the others.
func (pc *printedChoice) best(m *[weightCount]int) (chosen, other int) {
	chosen, other = -1, -1
	for k := range pc.figure {
		v := pc.figure[k].cost(m)
		if slices.Contains(pc.chosen, k) {
			if chosen < 0 || v < pc.figure[chosen].cost(m) {
				chosen = k
			}
		} else if other < 0 || v < pc.figure[other].cost(m) {
			other = k
		}
	}
	return chosen, other
}

// rank is how many of the other figures cost less than the printed one, ties counted half,
// from 1 on, in halves.
func (pc *printedChoice) rank(m *[weightCount]int) int {
	chosen, _ := pc.best(m)
	at, halves := pc.figure[chosen].cost(m), 2
	for k := range pc.figure {
		if slices.Contains(pc.chosen, k) {
			continue
		}
		switch v := pc.figure[k].cost(m); {
		case v < at:
			halves += 2
		case v == at:
			halves++
		}
	}
	return halves
}

// chance returns how likely each figure of a cell is by a choice model of some weights and a
// scale, and the chance of what was printed.
func (pc *printedChoice) chance(m *[weightCount]float64, out []float64) (all []float64, printed float64) {
	out = out[:0]
	least := math.Inf(1)
	for k := range pc.figure {
		v := float64(pc.figure[k][weightCount])
		for f := range m {
			v += float64(float64(pc.figure[k][f]) * m[f])
		}
		out = append(out, v)
		least = min(least, v)
	}
	sum := 0.0
	for k := range out {
		out[k] = math.Exp((least - out[k]) / scale)
		sum += out[k]
	}
	for k := range out {
		out[k] /= sum
	}
	for _, k := range pc.chosen {
		printed += out[k]
	}
	return out, printed
}

// surprise is how little some weights foretell print, in bits a bar.
func surprise(cs []printedChoice, m *[weightCount]float64) (bits float64) {
	var buf []float64
	for i := range cs {
		var p float64
		buf, p = cs[i].chance(m, buf)
		bits -= math.Log2(p)
	}
	return bits / float64(max(1, len(cs)))
}

// fit returns the multiples that some choices ask for.
func fit(cs []printedChoice, from [weightCount]int) (out [weightCount]int) {
	var m, h [weightCount]float64
	for f := range m {
		m[f] = float64(from[f]) / one
		h[f] = m[f]
	}
	var buf []float64
	for range 400 {
		var g, curve [weightCount]float64
		for i := range cs {
			pc := &cs[i]
			all, printed := pc.chance(&m, buf)
			buf = all
			for f := range m {
				mean, square, mine := 0.0, 0.0, 0.0
				for k := range all {
					x := float64(pc.figure[k][f]) / scale
					mean += float64(all[k] * x)
					square += float64(float64(all[k]*x) * x)
				}
				for _, k := range pc.chosen {
					mine += float64(all[k] * float64(pc.figure[k][f]) / scale)
				}
				g[f] += float64(mine/printed) - mean
				curve[f] += square - float64(mean*mean)
			}
		}
		for f := range m {
			g[f] += float64(prior * (m[f] - h[f]))
			m[f] = max(0, m[f]-.2*g[f]/(curve[f]+prior))
		}
	}
	for f := range m {
		out[f] = int(math.Round(m[f] * one))
	}
	return out
}

func floats(m [weightCount]int) (out [weightCount]float64) {
	for f := range m {
		out[f] = float64(m[f]) / one
	}
	return out
}

// report is how well some weights rank what was printed.
type report struct {
	n, top, three, ranks, margin int
}

func judged(cs []printedChoice, m [weightCount]int, keep func(*printedChoice) bool) (r report) {
	for i := range cs {
		if !keep(&cs[i]) {
			continue
		}
		h := cs[i].rank(&m)
		r.n++
		r.ranks += h
		if h <= 3 {
			r.top++
		}
		if h <= 6 {
			r.three++
		}
		chosen, other := cs[i].best(&m)
		r.margin += max(-100, min(100, cs[i].figure[other].cost(&m)-cs[i].figure[chosen].cost(&m)))
	}
	return r
}

// heldBack tells whether a page is not fitted to.
func heldBack(name string) bool {
	h := fnv.New32a()
	h.Write([]byte(name))
	return h.Sum32()%2 == 0
}

func printedChoices(t *testing.T) (fitted, held []printedChoice) {
	pages, err := scoretest.PrintedPages(sharedtest.Path(t, "data/human_pages"))
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range corpus.Accompaniments(t) {
		pages = append(pages, scoretest.Printed{ID: a.Name, Level: 4, Score: a.Score})
	}
	slices.SortFunc(pages, func(a, b scoretest.Printed) int { return cmp.Compare(a.ID, b.ID) })
	for _, pg := range pages {
		if !*writeWeights && !sharedtest.Takes(pg.ID, 6, 6) {
			continue
		}
		p, ok := printedPiece(t, pg.Score, pg.ID, pg.Level)
		if !ok {
			t.Logf("%s cannot be read", pg.ID)
			continue
		}
		cs := choices(p, pg.Score, pg.ID, pg.Level)
		if heldBack(pg.ID) {
			held = append(held, cs...)
		} else {
			fitted = append(fitted, cs...)
		}
	}
	return fitted, held
}

// agreed are the multiples on which both halves agree: where they move a weight the same way,
// the lesser move.
func agreed(a, b, hand [weightCount]int) (out [weightCount]int) {
	for f := range out {
		out[f] = hand[f]
		switch {
		case slices.Contains(guarded, fieldName(f)):
		case a[f] > hand[f] && b[f] > hand[f]:
			out[f] = min(a[f], b[f])
		case a[f] < hand[f] && b[f] < hand[f]:
			out[f] = max(a[f], b[f])
		}
	}
	return out
}

// of are the weights that multiples make, and multiples those that make weights.
func of(m [weightCount]int) (w weights) {
	for f := range m {
		*w.field(f) = (*byHandField(f)*m[f] + one/2) / one
	}
	return w
}

func multiples(w weights) (m [weightCount]int) {
	for f := range m {
		m[f] = *w.field(f) * one / *byHandField(f)
	}
	return m
}

// TestWeights reads printed pages (shared human_pages and accompaniment_cc0; sources and
// licences in their READMEs) for what their players chose, and holds that the fitted weights
// foretell it better than those set by hand. With -weights it fits them to all pages anew and
// writes fitted.go and the tables of docs/weights.md.
func TestWeights(t *testing.T) {
	train, held := printedChoices(t)
	hand := multiples(byHand)
	now := fitted
	if *writeWeights {
		a, b := fit(train, hand), fit(held, hand)
		now = of(agreed(a, b, hand))
		writeFitted(t, now)
		writeTables(t, train, held, a, b, now)
	}
	m := multiples(now)
	h, f := floats(hand), floats(m)
	both := slices.Concat(train, held)
	before, after := surprise(both, &h), surprise(both, &f)
	t.Logf("%d bars: %.3f bits of surprise by hand, %.3f fitted", len(both), before, after)
	if len(both) < 100 || after > before-.02 {
		t.Errorf("the weights foretell what %d printed bars have no better than those set by hand: %.3f bits and %.3f", len(both), after, before)
	}
}

func writeFitted(t *testing.T, w weights) {
	var b strings.Builder
	b.WriteString("// Code generated by make weights; DO NOT EDIT.\n\npackage arrange\n\n// fitted are the weights that pages are made with.\nvar fitted = weights{\n")
	for f := range weightCount {
		fmt.Fprintf(&b, "%s: %d,\n", fieldName(f), *w.field(f))
	}
	b.WriteString("}\n")
	code, err := format.Source([]byte(b.String()))
	if err == nil {
		err = os.WriteFile("fitted.go", code, 0o666)
	}
	if err != nil {
		t.Fatal(err)
	}
}

func writeTables(t *testing.T, train, held []printedChoice, a, b [weightCount]int, now weights) {
	hand := multiples(byHand)
	all := func(*printedChoice) bool { return true }
	var out strings.Builder
	fmt.Fprintf(&out, "\n%d bars of the first half of the pages, %d of the second.\n\n", len(train), len(held))
	out.WriteString("| ranked | by weights | mean rank | first | of the first three | margin | surprise |\n|---|---|---|---|---|---|---|\n")
	line := func(what, by string, cs []printedChoice, m [weightCount]int, keep func(*printedChoice) bool) {
		r := judged(cs, m, keep)
		if r.n == 0 {
			return
		}
		var some []printedChoice
		for i := range cs {
			if keep(&cs[i]) {
				some = append(some, cs[i])
			}
		}
		f := floats(m)
		n := float64(r.n)
		fmt.Fprintf(&out, "| %s (%d) | %s | %.2f | %.1f %% | %.1f %% | %.1f | %.2f bits |\n", what, r.n, by, float64(r.ranks)/2/n, 100*float64(r.top)/n, 100*float64(r.three)/n, float64(r.margin)/n, surprise(some, &f))
	}
	line("second half", "set by hand", held, hand, all)
	line("second half", "fitted to the first", held, a, all)
	line("first half", "set by hand", train, hand, all)
	line("first half", "fitted to the second", train, b, all)
	both, m := slices.Concat(train, held), multiples(now)
	for l := 1; l <= 5; l++ {
		at := func(pc *printedChoice) bool { return pc.level == l }
		line(fmt.Sprint("level ", l), "set by hand", both, hand, at)
		line(fmt.Sprint("level ", l), "taken", both, m, at)
	}
	out.WriteString("\n| weight | set by hand | first half | second half | taken | tells figures apart in |\n|---|---|---|---|---|---|\n")
	wa, wb, h := of(a), of(b), byHand
	for f := range weightCount {
		told := 0
		for i := range both {
			c, o := both[i].best(&hand)
			if both[i].figure[c][f] != both[i].figure[o][f] {
				told++
			}
		}
		fmt.Fprintf(&out, "| `%s` | %d | %d | %d | %d | %d bars |\n", fieldName(f), *h.field(f), *wa.field(f), *wb.field(f), *now.field(f), told)
	}
	sharedtest.WriteFigures(t, "weights.md", out.String())
}
