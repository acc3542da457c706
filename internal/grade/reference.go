package grade

import "math/bits"

// grades is the number of levels of the published scale.
const grades = 9

// pieces is how many pieces the published medians of each level rest on.
var pieces = [grades]int{16, 42, 52, 95, 129, 149, 102, 45, 30}

// quartiles are the values of a measure in the pieces of one level, in
// thousandths.
type quartiles struct{ low, mid, high int }

// reference is a measure by level.
type reference [grades]quartiles

// published lists the measures of 660 graded piano pieces, right hand and left
// hand. Source: medians and quartiles computed from the feature file of Ramoneda
// et al. 2024 (ISMIR), table difficulty_by_grade. Entropy in thousandths of a
// bit, range and the mean time between strikes in thousandths of a half step and
// of a second.
var (
	varietyTable = [2]reference{
		{{2590, 3030, 3350}, {3090, 3480, 3760}, {3280, 3760, 3980}, {3760, 3990, 4130}, {3910, 4100, 4280}, {4050, 4400, 4670}, {4340, 4670, 4930}, {4750, 5060, 5170}, {5000, 5180, 5360}},
		{{2800, 3090, 3310}, {3240, 3620, 3780}, {3480, 3770, 4000}, {3750, 4010, 4240}, {3940, 4130, 4290}, {4150, 4350, 4630}, {4360, 4580, 4880}, {4740, 4930, 5150}, {5000, 5130, 5260}},
	}
	compassTable = [2]reference{
		{{12000, 16000, 21000}, {17000, 22000, 24000}, {20000, 25000, 31000}, {24000, 29000, 34000}, {27000, 30000, 38000}, {31000, 41000, 48000}, {37000, 46000, 51000}, {46000, 55000, 61000}, {53000, 60000, 64000}},
		{{17000, 20000, 22000}, {20000, 24500, 28000}, {24000, 29000, 33000}, {27000, 32000, 37000}, {31000, 35000, 41000}, {36000, 43000, 51000}, {43000, 48000, 55000}, {50000, 57000, 64000}, {55000, 61000, 66000}},
	}
	movesTable = [2]reference{
		{{120, 380, 450}, {140, 310, 400}, {250, 410, 610}, {270, 460, 640}, {290, 430, 580}, {350, 540, 710}, {420, 650, 840}, {630, 740, 890}, {720, 820, 930}},
		{{110, 370, 570}, {250, 420, 650}, {290, 520, 720}, {390, 650, 860}, {470, 710, 910}, {580, 800, 940}, {650, 810, 930}, {670, 820, 980}, {740, 910, 950}},
	}
	betweenTable = [2]reference{
		{{310, 430, 530}, {320, 430, 570}, {260, 330, 430}, {250, 320, 480}, {230, 300, 430}, {210, 280, 430}, {200, 240, 360}, {180, 260, 380}, {140, 230, 310}},
		{{520, 630, 840}, {370, 520, 850}, {290, 410, 570}, {300, 410, 600}, {310, 420, 600}, {270, 370, 530}, {240, 310, 440}, {220, 330, 480}, {170, 290, 480}},
	}
	patternTable = [2]reference{
		{{14000, 27000, 32000}, {23000, 35500, 47000}, {32000, 59500, 86000}, {50000, 87000, 124000}, {80000, 122000, 174000}, {128000, 181000, 258000}, {160000, 258000, 396000}, {210000, 405000, 555000}, {306000, 611000, 731000}},
		{{15000, 21000, 23000}, {24000, 31000, 39000}, {31000, 50000, 80000}, {43000, 71000, 98000}, {61000, 92000, 137000}, {106000, 154000, 211000}, {133000, 209000, 297000}, {209000, 319000, 480000}, {220000, 475500, 627000}},
	}
)

// lengths is how many bars a piece of each level is taken to have. The published
// pattern counts are of whole pieces whose lengths are not published; without a
// length they cannot be compared with a count for 16 bars. These are derived, not
// published: 16 bars of 2.2 s hold n strikes at the level's time between strikes,
// a parsing of n symbols of entropy rate h has about n·h/log₂ n pieces, with h
// rising from 2.2 to 4 bits; the count of the whole piece, divided by that, gives
// its length.
var lengths = [grades]int{15, 18, 23, 31, 40, 50, 60, 85, 116}

// What the published file does not have. From memory of the repertoire, checked
// for order of size on real accompaniments (see the tests); quartiles as parts of
// the median.
var (
	polyphonyTable = [2]reference{
		around(25, 1050, 1200, 1400, 1600, 1800, 2000, 2200, 2400, 2600),
		around(25, 1250, 1400, 1550, 1700, 1850, 2000, 2150, 2350, 2550),
	}
	// points a beat; see pulses.points
	rhythmTable = around(100, 10, 20, 40, 70, 110, 160, 220, 290, 370)
	// of all notes
	accidentalTable = around(60, 20, 35, 50, 70, 90, 115, 140, 170, 200)
	// thousandths of a point a note; see ByHand
	fingeringTable = around(40, 700, 800, 900, 1000, 1100, 1200, 1300, 1450, 1600)
)

// around makes a reference whose quartiles lie so many percent below and above
// the medians.
func around(percent int, mid ...int) reference {
	var r reference
	for i, m := range mid {
		r[i] = quartiles{m * (100 - percent) / 100, m, m * (100 + percent) / 100}
	}
	return r
}

// speeds turns times between strikes into strikes a second.
func speeds(r reference) reference {
	for i, q := range r {
		r[i] = quartiles{1_000_000 / q.high, 1_000_000 / q.mid, 1_000_000 / q.low}
	}
	return r
}

// perStretch turns pattern counts of whole pieces into counts for 16 bars. Most
// of the spread within a level comes from the pieces' lengths; what is left of it
// is taken to be a quarter of the median either way.
func perStretch(r reference) reference {
	var mid [grades]int
	for i, q := range r {
		mid[i] = q.mid * lzBars / lengths[i]
	}
	return around(25, mid[:]...)
}

// mean is the mean of the medians over all pieces.
func (r reference) mean() int {
	sum, n := 0, 0
	for i, q := range r {
		sum += q.mid * pieces[i]
		n += pieces[i]
	}
	return sum / n
}

// spread is the standard deviation over all pieces: that of the medians between
// the levels together with that within each level, where a normal distribution's
// quartiles lie 1.349 deviations apart.
func (r reference) spread() int {
	m := r.mean()
	sum, n := 0, 0
	for i, q := range r {
		within := (q.high - q.low) * 1000 / 1349
		sum += pieces[i] * (within*within + (q.mid-m)*(q.mid-m))
		n += pieces[i]
	}
	return max(1, root(sum/n))
}

// root is the integer square root, rounded down.
func root(n int) int {
	if n < 2 {
		return max(n, 0)
	}
	x := 1 << ((bits.Len(uint(n)) + 1) / 2)
	for {
		y := (x + n/x) / 2
		if y >= x {
			return x
		}
		x = y
	}
}

// A z-score is bounded above: what lies four deviations over the mean is no more
// than that, or one odd measure would rule the page. Below, the measures end by
// themselves (a hand that plays one key has an entropy of 0); the bound only
// guards the arithmetic.
const (
	lowest  = -10_000
	highest = 4000
)

// norm is what a z-score is counted from and in.
type norm struct{ mean, spread int }

func (r reference) norm() norm { return norm{r.mean(), r.spread()} }

// z is how many thousandths of a standard deviation a value lies above the mean
// of all pieces.
func (n norm) z(value int) int {
	return min(highest, max(lowest, (value-n.mean)*1000/n.spread))
}

// level places a value on the nine-level scale, in tenths, by the medians. Where
// medians fall from one level to the next they are levelled first (the weighted
// mean of the neighbours), so that more never places lower.
func (r reference) level(value int) int {
	var mid [grades]int
	for i, q := range r {
		mid[i] = q.mid
	}
	return tenth(place(rising(mid), value))
}

// tenth rounds hundredths.
func tenth(hundredths int) int { return round(hundredths, 10) }

// rising is the nearest rising sequence to the medians: neighbours that fall are
// pooled (weighted by pieces), then equal ones set apart by one.
func rising(mid [grades]int) [grades]int {
	type pool struct{ sum, weight, size int }
	var pools []pool
	for i, m := range mid {
		pools = append(pools, pool{m * pieces[i], pieces[i], 1})
		for k := len(pools) - 1; k > 0 && pools[k-1].sum*pools[k].weight >= pools[k].sum*pools[k-1].weight; k-- {
			a, b := pools[k-1], pools[k]
			pools = append(pools[:k-1], pool{a.sum + b.sum, a.weight + b.weight, a.size + b.size})
		}
	}
	var out [grades]int
	i := 0
	for _, p := range pools {
		for range p.size {
			out[i] = p.sum / p.weight
			if i > 0 && out[i] <= out[i-1] {
				out[i] = out[i-1] + 1
			}
			i++
		}
	}
	return out
}

// place reads a value off rising marks, the mark of level k at 100·k hundredths.
// In between it is a straight line; below the first mark it sinks towards 0 and
// above the last it climbs towards 1000 without reaching them, so that of two
// values the higher is never placed below the lower.
func place(marks [grades]int, value int) int {
	last := grades - 1
	switch {
	case value < marks[0]:
		unit := marks[1] - marks[0]
		return round(100*unit, unit+marks[0]-value)
	case value > marks[last]:
		unit := marks[last] - marks[last-1]
		return 1000 - round(100*unit, unit+value-marks[last])
	}
	i := 0
	for i < last-1 && value > marks[i+1] {
		i++
	}
	return 100*(i+1) + round(100*(value-marks[i]), marks[i+1]-marks[i])
}

// round divides to the nearest whole, halves upwards; both are not negative.
func round(a, b int) int { return (2*a + b) / (2 * b) }
