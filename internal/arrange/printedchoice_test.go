package arrange

import (
	"cmp"
	"context"
	"fmt"
	"hash/fnv"
	"maps"
	"slices"
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

// printedChoice is the choice of a person in one cell: what was played and what else could have been.
type printedChoice struct {
	page   string
	level  int
	chosen []int // candidates that are as like as any to what is printed
	figure []faults
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
