package arrange

import (
	"flag"
	"fmt"
	"go/format"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
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
