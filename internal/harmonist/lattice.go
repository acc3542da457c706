package harmonist

import (
	"math"
	"sync"
)

// lattice is what forward and backward find of a tune under one rhythm: after each slot
// what all ways to there weigh, by state, brought to the sum 1, and the same from behind.
type lattice struct {
	emit        [][]float64 // what each state weighs in its slot, the likeliest being 1
	change      []float64   // what a change at each slot weighs
	alpha, beta [][]float64
	scale       []float64 // the sum that alpha was divided by
	weight      float64   // of all ways, times 2^power
	power       int
}

// run goes through a tune. A mask, where there is one, fixes the states of the slots for
// which it is not negative.
func run(h *heard, emit [][]float64, move [palettesN][]float64, change []float64, mask []int) lattice {
	n := len(h.slots)
	l := lattice{emit: emit, change: change, alpha: make([][]float64, n), beta: make([][]float64, n), scale: make([]float64, n), weight: 1}
	if mask != nil {
		l.emit = masked(emit, mask)
	}
	for i := range n {
		al := make([]float64, len(l.emit[i]))
		if h.joined(i) {
			mv := move[paletteOf(h.regions[h.slots[i].region].key)]
			for b, p := range l.alpha[i-1] {
				if p == 0 {
					continue
				}
				c := p * change[i]
				row := mv[b*len(al) : (b+1)*len(al)]
				for a := range al {
					al[a] += float64(c * row[a])
				}
				al[b] += p
			}
			for a := range al {
				al[a] *= l.emit[i][a]
			}
		} else {
			copy(al, l.emit[i])
		}
		sum := 0.0
		for _, x := range al {
			sum += x
		}
		if sum == 0 { // nothing fits: anything does
			for a := range al {
				al[a] = 1
			}
			sum = float64(len(al))
		}
		for a := range al {
			al[a] /= sum
		}
		l.alpha[i], l.scale[i] = al, sum
		m, e := math.Frexp(l.weight * sum)
		l.weight, l.power = m, l.power+e
	}
	for i := n - 1; i >= 0; i-- {
		be := make([]float64, len(l.emit[i]))
		if i+1 < n && h.joined(i+1) {
			mv := move[paletteOf(h.regions[h.slots[i].region].key)]
			next := make([]float64, len(be))
			for a := range next {
				next[a] = l.emit[i+1][a] * l.beta[i+1][a] / l.scale[i+1]
			}
			for b := range be {
				sum := 0.0
				for a, x := range mv[b*len(be) : (b+1)*len(be)] {
					sum += float64(x * next[a])
				}
				be[b] = float64(sum*change[i+1]) + next[b]
			}
		} else {
			for a := range be {
				be[a] = 1
			}
		}
		l.beta[i] = be
	}
	return l
}

func masked(emit [][]float64, mask []int) [][]float64 {
	out := make([][]float64, len(emit))
	for i, e := range emit {
		out[i] = e
		if mask[i] >= 0 {
			out[i] = make([]float64, len(e))
			out[i][mask[i]] = e[mask[i]]
		}
	}
	return out
}

// joined tells whether a slot's chord follows from the one before: not where the key
// changes.
func (h *heard) joined(i int) bool {
	return i > 0 && h.slots[i].region == h.slots[i-1].region
}

// posterior is how likely each state is in a slot.
func (l *lattice) posterior(i int) []float64 {
	out := make([]float64, len(l.alpha[i]))
	sum := 0.0
	for a := range out {
		out[a] = l.alpha[i][a] * l.beta[i][a]
		sum += out[a]
	}
	for a := range out {
		out[a] /= sum
	}
	return out
}

// emissions weighs each state in each slot.
func (m *model) emissions(h *heard, g Group) [][]float64 {
	out := make([][]float64, len(h.slots))
	var bar []float64
	sum := 0.0
	add := func(at int, x float64) { sum += float64(m.w[at] * x) }
	for i := range h.slots {
		n := len(palettes[paletteOf(h.regions[h.slots[i].region].key)])
		if !h.joined(i) || h.slots[i].bar != h.slots[i-1].bar {
			bar = make([]float64, n)
			for a := range bar {
				sum = 0
				ofBar(h, i, a, g, add)
				bar[a] = sum
			}
		}
		e := make([]float64, n)
		for a := range e {
			sum = bar[a]
			ofBeat(h, i, a, add)
			e[a] = sum
		}
		out[i] = relative(e)
	}
	return out
}

// relative turns logarithms into weights of which the greatest is 1.
func relative(e []float64) []float64 {
	top := e[0]
	for _, x := range e {
		top = max(top, x)
	}
	for a := range e {
		e[a] = exp(e[a] - top)
	}
	return e
}

// moves weighs the successions; staying is no succession.
func (m *model) moves() [palettesN][]float64 {
	var out [palettesN][]float64
	for p := range palettes {
		n := len(palettes[p])
		out[p] = make([]float64, n*n)
		for i := range out[p] {
			if i/n != i%n {
				out[p][i] = exp(m.w[wMove[p]+i])
			}
		}
	}
	return out
}

// changes weighs a change at each slot under a rhythm, and the rhythm itself.
func (m *model) changes(h *heard, g Group, r int) (change []float64, rhythm float64) {
	change = make([]float64, len(h.slots))
	for i := range change {
		sum := 0.0
		changing(h, i, g, r, func(at int, x float64) { sum += float64(m.w[at] * x) })
		change[i] = exp(sum)
	}
	sum := 0.0
	pacing(h, g, r, func(at int, x float64) { sum += float64(m.w[at] * x) })
	return change, exp(sum)
}

// thoughts is how likely each state is in each slot, over the rhythms or under one of
// them. paced is the likeliest rhythm.
func (m *model) thoughts(h *heard, g Group, only Rhythm) (post [][]float64, paced Rhythm) {
	emit, move := m.emissions(h, g), m.moves()
	var ls [rhythms]lattice
	var weight [rhythms]float64
	most := math.MinInt
	for r := range rhythms {
		change, w := m.changes(h, g, r)
		ls[r] = run(h, emit, move, change, nil)
		weight[r] = ls[r].weight * w
		most = max(most, ls[r].power)
	}
	sum := 0.0
	for r := range weight {
		weight[r] = math.Ldexp(weight[r], max(ls[r].power-most, -1000))
		if only != Found && Rhythm(r+1) != only {
			weight[r] = 0
		}
		sum += weight[r]
		if paced == Found || weight[r] > weight[paced-1] {
			paced = Rhythm(r + 1)
		}
	}
	post = make([][]float64, len(h.slots))
	for i := range post {
		post[i] = make([]float64, len(emit[i]))
		for r := range rhythms {
			if weight[r] == 0 {
				continue
			}
			for a, p := range ls[r].posterior(i) {
				post[i][a] += float64(p * (weight[r] / sum))
			}
		}
	}
	return post, paced
}

// exp is the exponential, made of products alone so that it is the same on every
// machine; within 1/1000 of its argument, and nothing below e^-40.
func exp(x float64) float64 {
	n := int(math.Floor(float64(x*1024) + 0.5))
	n = min(n, 40*1024)
	if n < -40*1024 {
		return 0
	}
	t := powers()
	whole := n >> 10
	return float64(t.whole[whole+40] * t.part[n-whole<<10])
}

type powerTable struct {
	whole [81]float64
	part  [1024]float64
}

var powers = sync.OnceValue(func() *powerTable {
	const step = 1.0009770394924165 // e^(1/1024)
	t := &powerTable{}
	t.part[0] = 1
	for i := 1; i < len(t.part); i++ {
		t.part[i] = float64(t.part[i-1] * step)
	}
	t.whole[40] = 1
	for i := 41; i < len(t.whole); i++ {
		t.whole[i] = float64(t.whole[i-1] * math.E)
	}
	for i := 39; i >= 0; i-- {
		t.whole[i] = t.whole[i+1] / math.E
	}
	return t
})
