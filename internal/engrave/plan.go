package engrave

import (
	"math"
	"slices"
)

// Planning systems and pages.
//
// Problem: divide bars into systems and systems into pages so that a musician
// reads phrases: four bars a system where they fit, phrases beginning at the
// left, nothing cramped, no lone system on the last page, no page turn within
// a phrase where that can be helped.
//
// Method: the two divisions are made one after the other, each by dynamic
// programming over the places where a line may end (Knuth and Plass, "Breaking
// Paragraphs into Lines", Software: Practice and Experience 11, 1981), here
// with integer costs and the earliest of equal solutions. Cost: bars times bars
// in a system; systems times systems on a page. Where bars are moved together to save a
// page, the number of systems is found first, and then the way to fill so many most evenly:
// a line of eight bars beside lines of four looks like a mistake. Cost: times the number of
// systems.
//
// Rejected: filling line after line, which leaves a stray bar at the end.

const noPlan = math.MaxInt64 / 4

// systemCost prices a system of bars i to j−1 in a line of a width.
type systemCost struct {
	bars    []bar
	lead    float64 // clef, key: at the start of every system
	width   float64 // of a line, staff spaces
	crowd   float64 // factor on the estimated widths
	density Density
	tight   bool // as few systems as there can be
	joined  bool // with fewer systems: a section may begin amid one
}

func (c systemCost) cost(i, j int) int {
	n := 0
	cost := 0
	for k := i; k < j; k++ {
		if !c.bars[k].pickup {
			n++
		}
		if k == i {
			continue
		}
		switch {
		case c.bars[k].section:
			cost += 120 // a section should begin at the left
		case c.bars[k].hint:
			cost += 60
		}
	}
	fill := c.fill(i, j)
	if fill > c.most() {
		if j-i > 1 {
			return noPlan
		}
		return 2000 // one bar wider than the line: there is no better way
	}
	// Loose systems: a square, so that two half-full ones cost less than a
	// full one and a nearly empty one.
	loose := max(0, 0.75-fill)
	cost += int(math.Round(400 * loose * loose))
	if fill > 0.92 {
		cost += int(math.Round(4000 * (fill - 0.92) * (fill - 0.92)))
	}
	switch n {
	case 4:
	case 2, 3:
		cost += 14
	case 5, 6:
		cost += 24
	case 8:
		cost += 40
	default:
		cost += 50
	}
	if c.tight {
		cost += 150 // a system
	}
	if j < len(c.bars) && !c.bars[j].hint && !c.bars[j].section {
		cost += 25 // ends within a phrase
	}
	return cost
}

// fill is what part of a line bars i to j−1 take at their own width.
func (c systemCost) fill(i, j int) float64 {
	w := c.lead
	for _, b := range c.bars[i:j] {
		w += b.width * c.crowd
	}
	return w / c.width
}

// fullest is how full the fullest of the systems is that begin with some bars.
func (c systemCost) fullest(starts []int) float64 {
	most := 0.0
	for i, from := range starts {
		to := len(c.bars)
		if i+1 < len(starts) {
			to = starts[i+1]
		}
		most = max(most, c.fill(from, to))
	}
	return most
}

// most is how full a system may be.
func (c systemCost) most() float64 {
	switch c.density {
	case Airy:
		return 0.95
	case Dense:
		return 1.2
	}
	return 1.08
}

// unevenness is what a system costs, where lines are to be filled alike, for the square of the part of
// a line by which it is fuller or emptier than the mean.
const unevenness = 1500

// starved is how full the last of several systems is at most for the others to give it bars.
const starved = 0.6

// starts returns the bars with which systems begin: as the phrases want it; of fewer systems, where so
// many are asked for and bars have room, evenly; and so where the last one would be half empty. A
// section keeps its own line, but where all would stand on one page without that: a short last line
// is less in the way than a beginning amid one.
func (c systemCost) starts(systems int) []int {
	free := c.plan()
	n := len(free)
	var even []int
	switch {
	case systems > 0 && systems < n:
		c.tight = true
		even = c.evened(max(systems, len(c.plan())))
	case n > 1 && c.fill(free[n-1], len(c.bars)) < starved && !c.bars[free[n-1]].section:
		even = c.evened(n)
	default:
		return free
	}
	for _, i := range free {
		if c.bars[i].section && !c.joined && !slices.Contains(even, i) {
			return free
		}
	}
	return even
}

// evened divides the bars into so many systems, as even as they can be. That there is a way
// is known.
func (c systemCost) evened(systems int) []int {
	n := len(c.bars)
	if !c.hinted() {
		c.bars = c.phrases()
	}
	mean := (c.fill(0, n) + float64(systems-1)*c.lead/c.width) / float64(systems)
	best := make([][]int, systems+1) // by how many systems are left, cost of the bars from i on
	next := make([][]int, systems+1)
	for k := range best {
		best[k], next[k] = make([]int, n+1), make([]int, n+1)
		for i := range best[k] {
			best[k][i] = noPlan
		}
	}
	best[0][n] = 0
	for k := 1; k <= systems; k++ {
		for i := n - 1; i >= 0; i-- {
			for j := i + 1; j <= n; j++ {
				one := c.cost(i, j)
				if one >= noPlan {
					break
				}
				off := c.fill(i, j) - mean
				if t := best[k-1][j] + one + int(math.Round(unevenness*off*off)); best[k-1][j] < noPlan && t < best[k][i] {
					best[k][i], next[k][i] = t, j
				}
			}
		}
	}
	var starts []int
	for i, k := 0, systems; k > 0; i, k = next[k][i], k-1 {
		starts = append(starts, i)
	}
	return starts
}

// plan returns the bars with which systems begin.
func (c systemCost) plan() []int {
	n := len(c.bars)
	if !c.hinted() {
		c.bars = c.phrases()
	}
	best := make([]int, n+1) // cost of the bars from i on
	next := make([]int, n+1)
	for i := n - 1; i >= 0; i-- {
		best[i] = noPlan
		for j := i + 1; j <= n; j++ {
			one := c.cost(i, j)
			if one >= noPlan {
				break // more bars are wider still
			}
			if t := one + best[j]; t < best[i] {
				best[i], next[i] = t, j
			}
		}
	}
	var starts []int
	for i := 0; i < n; i = next[i] {
		starts = append(starts, i)
	}
	return starts
}

func (c systemCost) hinted() bool {
	for _, b := range c.bars {
		if b.hint {
			return true
		}
	}
	return false
}

// phrases returns the bars with a phrase supposed every four, counted from the
// start of each section; for scores that mark none.
func (c systemCost) phrases() []bar {
	out := append([]bar(nil), c.bars...)
	n := 0
	for i := range out {
		if out[i].section {
			n = 0
		}
		if i > 0 && n%4 == 0 && !out[i].pickup {
			out[i].hint = true
		}
		if !out[i].pickup {
			n++
		}
	}
	return out
}

// pageCost prices a page of systems i to j−1.
type pageCost struct {
	heights []float64 // of the systems' ink, mm
	phrase  []bool    // the system begins a phrase
	first   float64   // room on the first page
	other   float64   // and on the others
	gap     float64   // least distance between systems
	ideal   float64   // and the one that looks best
}

func (c pageCost) cost(i, j int) int {
	room := c.other
	if i == 0 {
		room = c.first
	}
	n := j - i
	h := 0.0
	for k := i; k < j; k++ {
		h += c.heights[k]
	}
	if n > 1 && h+float64(n-1)*c.gap > room {
		return noPlan
	}
	cost := 0
	if j < len(c.heights) {
		// What a page lacks of being full, in hundredths of it.
		slack := (room - h - float64(n-1)*c.ideal) / room
		if slack > 0 {
			cost += int(math.Round(1600 * slack * slack)) // a third of a page is worse than a turn within a phrase
		} else {
			cost += int(math.Round(100 * slack * slack))
		}
		if !c.phrase[j] {
			cost += 60 // a page turn within a phrase
		}
		cost += 100 // a page
		return cost
	}
	if i > 0 { // the last page may be less full, but not nearly empty
		slack := max(0, (room-h-float64(n-1)*c.ideal)/room)
		cost += int(math.Round(600 * slack * slack))
		switch n {
		case 1:
			cost += 600 // a stray system
		case 2:
			cost += 60
		}
	}
	return cost
}

// plan returns the systems with which pages begin.
func (c pageCost) plan() []int {
	n := len(c.heights)
	best := make([]int, n+1)
	next := make([]int, n+1)
	for i := n - 1; i >= 0; i-- {
		best[i] = noPlan
		for j := i + 1; j <= n; j++ {
			one := c.cost(i, j)
			if one >= noPlan {
				break
			}
			if t := one + best[j]; t < best[i] {
				best[i], next[i] = t, j
			}
		}
	}
	var starts []int
	for i := 0; i < n; i = next[i] {
		starts = append(starts, i)
	}
	return starts
}

// fits tells whether systems can stand on pages that begin with some of them.
func (c pageCost) fits(starts []int) bool {
	for i, from := range starts {
		to := len(c.heights)
		if i+1 < len(starts) {
			to = starts[i+1]
		}
		if c.cost(from, to) >= noPlan {
			return false
		}
	}
	return true
}
