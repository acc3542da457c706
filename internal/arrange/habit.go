package arrange

import (
	"cmp"
	"slices"

	"gradatim/internal/ladder"
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

// kin is what the habit's rhythm costs where another texture has it and the phrase's own
// has nothing to play; stranger is the same where it has.
const kin, stranger = 50, 170

// brokenOff is what it costs to leave a line for a bar in which it could go on.
const brokenOff = 400

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
	struck := map[uint64][]theory.Dur{} // of a rhythm, when it strikes
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
	habit := map[habitKey]uint64{}
	for _, k := range order {
		total := map[uint64]int{}
		for n, i := range groups[k] {
			least = p.rhythms(&p.cells[i], struck)
			for r, v := range least {
				if _, ok := total[r]; !ok {
					total[r] = n * p.weigh().Strayed
				}
				total[r] += v
			}
			for r := range total {
				if _, ok := least[r]; !ok {
					total[r] += p.weigh().Strayed
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
		habit[k] = best.rhythm
	}
	p.carry(habit, struck)
	p.places()
}

// placeKey says which cells have the place of their bass note in common.
type placeKey struct {
	texture *technique.Technique
	section int // its first bar
	class   int // of the bass note
}

// places finds for each bass note of a section the octave in which its texture has it at the
// least cost over all its cells: a hand that hops an octave for one bar is heard as a slip.
func (p *piece) places() {
	groups := map[placeKey][]int{}
	var order []placeKey
	for i := range p.cells {
		c := &p.cells[i]
		if c.left == nil || c.habit == 0 || c.left.Sings || c.Last {
			continue
		}
		k := placeKey{c.left, p.form.At(c.bar).First, c.Chord.Lowest().Class()}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], i)
	}
	for _, k := range order {
		total := [128]int{}
		for _, i := range groups[k] {
			least := p.basses(&p.cells[i])
			for key := range total {
				total[key] += least[key]
			}
		}
		best := 0
		for key := range total {
			if total[key] < total[best] {
				best = key
			}
		}
		if best == 0 {
			continue
		}
		for _, i := range groups[k] {
			p.cells[i].place = uint8(best)
		}
	}
}

// basses returns what each first key of a cell's texture costs at least, in the rhythm of its
// habit; a key that it has not costs as much as one out of its place.
func (p *piece) basses(c *cell) (least [128]int) {
	cheapest, found := 0, false
	for k := range c.leftOffers {
		if c.leftOffers[k].by != c.left {
			continue
		}
		for _, o := range c.leftOffers[k].few {
			if o.rhythm == c.habit && (!found || o.cost < cheapest) {
				cheapest, found = o.cost, true
			}
		}
		for key := range least {
			least[key] = cheapest + 2*p.weigh().Displaced
		}
		for _, o := range c.leftOffers[k].few {
			if o.rhythm == c.habit && o.Lead == 0 {
				least[o.keys[0]] = min(least[o.keys[0]], o.cost)
			}
		}
	}
	return least
}

// carry lets a bar that is cut by a change of chord go on with the rhythm of the whole
// bars: each part strikes when they do, where its texture can.
func (p *piece) carry(habit map[habitKey]uint64, struck map[uint64][]theory.Dur) {
	for i := range p.cells {
		c := &p.cells[i]
		bar := p.song.Bars[c.bar]
		whole := habitKey{c.left, bar.Dur, 0, c.Meter.BeatDur()}
		if c.habit == 0 || c.Dur() >= bar.Dur || habit[whole] == 0 {
			continue
		}
		h, n := fingerprint(offset), 0
		for _, at := range struck[habit[whole]] {
			if off := at - (c.At - c.BarAt); off >= 0 && off < c.Dur() {
				if n++; n == 1 && off > 0 {
					n = -1 << 10
				}
				h.mix(int64(off))
			}
		}
		if _, ok := p.rhythms(c, nil)[uint64(h)]; ok && n > 0 {
			c.habit = uint64(h)
		}
	}
}

// rhythms returns what each rhythm of a cell's texture costs at least, and notes when it
// strikes.
func (p *piece) rhythms(c *cell, struck map[uint64][]theory.Dur) map[uint64]int {
	out := map[uint64]int{}
	for k := range c.leftOffers {
		if c.leftOffers[k].by != c.left {
			continue
		}
		for _, o := range c.leftOffers[k].few {
			if v, ok := out[o.rhythm]; !ok || o.cost < v {
				out[o.rhythm] = o.cost
			}
			if struck != nil && struck[o.rhythm] == nil {
				for i := range o.Tones {
					if i == 0 || o.Tones[i].At != o.Tones[i-1].At {
						struck[o.rhythm] = append(struck[o.rhythm], o.Tones[i].At-c.At)
					}
				}
			}
		}
	}
	return out
}

// astray is what a figure costs beside its technique's price, as it keeps to the habit or
// strays from it. A phrase may close as it likes.
func (p *piece) astray(c *cell, o *option, by *technique.Technique) int {
	switch {
	case c.habit == 0, c.Last, by.Joins, c.Closes && p.comesToRest(c):
		return 0
	case o.rhythm != c.habit && p.level.Position > 0:
		return p.weigh().StrayHere
	case o.rhythm != c.habit && p.endsPhrase(c):
		return p.weigh().StrayEnd
	case o.rhythm != c.habit:
		return p.weigh().Strayed
	case by == c.left:
		return 0
	case c.left.Tenor && p.slots[c.slot].device == "" && slices.ContainsFunc(c.leftOffers, func(o offers) bool { return o.by == c.left && len(o.few) > 0 }):
		return brokenOff - p.weigh().OffDress
	case slices.ContainsFunc(c.leftOffers, func(o offers) bool { return o.by == c.left && len(o.few) > 0 }) && p.level.Arc == ladder.NoArc:
		return stranger - p.weigh().OffDress
	}
	return kin - p.weigh().OffDress
}

// comesToRest tells whether the tune rests, or holds a note, for half of a cell and more
// at its end.
func (p *piece) comesToRest(c *cell) bool {
	n := len(c.Melody)
	if n == 0 {
		return true
	}
	last := c.Melody[n-1]
	return 2*(c.End-max(last.At, c.At)) >= c.Dur() || 2*(c.End-last.End) >= c.Dur()
}

// endsPhrase tells whether a cell lies in the last two bars of a phrase.
func (p *piece) endsPhrase(c *cell) bool {
	return c.bar+1 >= p.form.PhraseAt(c.bar).Last
}
