package arrange

import (
	"cmp"
	"slices"

	"gradatim/internal/technique"
	"gradatim/theory"
)

// What a left hand has once begun it goes on with: of the rhythms that a texture offers,
// one is the page's habit, for each length and place of a cell in its bar. It is the one
// that costs least over all cells that have the texture; those that cannot have it are
// counted at the price of straying. The search then strays where it must.
//
// Rejected: a price between neighbours only. Two bars that have to differ then change the
// pattern of all that follow, as to go back costs as much.

// strayed is what another rhythm than the habit costs in a cell that could have it.
const strayed = 120

// astrayHere is the same where the level keeps the hand in one place, which comes first.
const astrayHere = 30

// kin is what the habit's rhythm costs where another texture has it.
const kin = 50

// habitKey says which cells have a habit in common.
type habitKey struct {
	texture *technique.Technique
	dur     theory.Dur
	off     theory.Dur // in the bar
	beat    theory.Dur
}

// habits finds the rhythm of each cell's kind, where the kind of tune keeps its pattern.
func (p *piece) habits() {
	type tally struct {
		rhythm uint64
		cost   int
	}
	groups := map[habitKey][]int{}
	var order []habitKey
	for i := range p.cells {
		c := &p.cells[i]
		if c.left == nil || c.left.Sings || c.Last || c.slot < 0 {
			continue
		}
		k := habitKey{c.left, c.Dur(), c.At - c.BarAt, c.Meter.BeatDur()}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], i)
	}
	var least map[uint64]int
	for _, k := range order {
		total := map[uint64]int{}
		for n, i := range groups[k] {
			least = p.rhythms(&p.cells[i])
			for r, v := range least {
				if _, ok := total[r]; !ok {
					total[r] = n * strayed
				}
				total[r] += v
			}
			for r := range total {
				if _, ok := least[r]; !ok {
					total[r] += strayed
				}
			}
		}
		var all []tally
		for r, v := range total {
			all = append(all, tally{r, v})
		}
		if len(all) == 0 {
			continue
		}
		best := slices.MinFunc(all, func(a, b tally) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.rhythm, b.rhythm)) })
		for _, i := range groups[k] {
			p.cells[i].habit = best.rhythm
		}
	}
}

// rhythms returns what each rhythm of a cell's texture costs at least.
func (p *piece) rhythms(c *cell) map[uint64]int {
	out := map[uint64]int{}
	for k := range c.leftOffers {
		if c.leftOffers[k].by != c.left {
			continue
		}
		for _, o := range c.leftOffers[k].few {
			if v, ok := out[o.rhythm]; !ok || o.cost < v {
				out[o.rhythm] = o.cost
			}
		}
	}
	return out
}

// astray is what a figure costs beside its technique's price, as it keeps to the habit or
// strays from it. A phrase may close as it likes.
func (p *piece) astray(c *cell, o *option, by *technique.Technique) int {
	switch {
	case c.habit == 0, c.Closes, c.Last:
		return 0
	case o.rhythm != c.habit && p.level.Position > 0:
		return astrayHere
	case o.rhythm != c.habit:
		return strayed
	case by != c.left:
		return kin - offDress
	}
	return 0
}
