package engrave

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// bars makes n bars of a width, with systems beginning at the given ones.
func barsOf(n int, width float64, hints ...int) []bar {
	out := make([]bar, n)
	for i := range out {
		out[i] = bar{width: width, hint: slices.Contains(hints, i)}
	}
	return out
}

func TestPlanSystems(t *testing.T) {
	pickup := barsOf(9, 20)
	pickup[0] = bar{width: 8, pickup: true}
	sections := barsOf(14, 20)
	sections[6].section = true
	tests := []struct {
		name string
		c    systemCost
		want []int
	}{
		{"four bars that fit", systemCost{bars: barsOf(16, 22)}, []int{0, 4, 8, 12}},
		{"narrow bars stay four", systemCost{bars: barsOf(16, 14)}, []int{0, 4, 8, 12}},
		{"wide bars go in twos", systemCost{bars: barsOf(8, 40)}, []int{0, 2, 4, 6}},
		{"no stray bar", systemCost{bars: barsOf(9, 22)}, []int{0, 4, 7}},
		{"phrases of the score", systemCost{bars: barsOf(12, 20, 3, 6, 9)}, []int{0, 3, 6, 9}},
		{"a pick-up is not counted", systemCost{bars: pickup}, []int{0, 5}},
		{"a section begins at the left", systemCost{bars: sections}, []int{0, 3, 6, 10}},
		{"one bar wider than the line", systemCost{bars: barsOf(3, 200)}, []int{0, 1, 2}},
		{"one bar", systemCost{bars: barsOf(1, 20)}, []int{0}},
	}
	for _, tt := range tests {
		tt.c.width, tt.c.lead, tt.c.crowd = 100, 5, 1
		got := tt.c.plan()
		if tt.name == "no stray bar" {
			// Where the odd bar goes is a matter of taste; alone it may not be.
			if last := 9 - got[len(got)-1]; last < 2 {
				t.Errorf("%s: %v", tt.name, got)
			}
			continue
		}
		if tt.name == "a section begins at the left" {
			if !slices.Contains(got, 6) {
				t.Errorf("%s: %v", tt.name, got)
			}
			continue
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

// So many systems are filled alike: none has twice the bars of another, where phrases alone would
// have it so, and there are no more systems than asked for.
func TestEvened(t *testing.T) {
	for n := 9; n <= 40; n++ {
		c := systemCost{width: 100, lead: 5, crowd: 1, bars: barsOf(n, 12, 4, 8, 12, 16, 20, 24, 28, 32, 36)}
		tight := c
		tight.tight = true
		systems := len(tight.plan())
		if systems == len(c.plan()) {
			continue
		}
		starts := c.starts(1)
		if len(starts) != systems || starts[0] != 0 || !slices.IsSorted(starts) {
			t.Fatalf("%d bars: %v, want %d systems", n, starts, systems)
		}
		least, most := n, 0
		for k, i := range starts {
			j := n
			if k+1 < systems {
				j = starts[k+1]
			}
			least, most = min(least, j-i), max(most, j-i)
		}
		if most > least+3 {
			t.Errorf("%d bars: systems of %d and of %d: %v", n, least, most, starts)
		}
	}
}

// No plan is cheaper than the one found, over all plans of short scores.
func TestPlanIsBest(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 300 {
		n := 1 + r.IntN(9)
		c := systemCost{width: 100, lead: 5, crowd: 1, bars: barsOf(n, 0)}
		for i := range c.bars {
			c.bars[i].width = 10 + 30*r.Float64()
			c.bars[i].hint = r.IntN(3) == 0
			c.bars[i].section = r.IntN(8) == 0
		}
		c.bars[0].hint = true // so that plan supposes no phrases of its own
		price := func(starts []int) int {
			sum := 0
			for k, i := range starts {
				j := n
				if k+1 < len(starts) {
					j = starts[k+1]
				}
				sum += c.cost(i, j)
			}
			return sum
		}
		got := price(c.plan())
		for set := range 1 << (n - 1) {
			starts := []int{0}
			for i := 1; i < n; i++ {
				if set>>(i-1)&1 == 1 {
					starts = append(starts, i)
				}
			}
			if p := price(starts); p < got {
				t.Fatalf("%v costs %d, %v only %d", c.plan(), got, starts, p)
			}
		}
	}
}

func TestPlanPages(t *testing.T) {
	heights := func(n int) []float64 { return slices.Repeat([]float64{40}, n) }
	every := func(n, k int) []bool {
		out := make([]bool, n)
		for i := range out {
			out[i] = i%k == 0
		}
		return out
	}
	page := func(n, k int) pageCost {
		return pageCost{heights: heights(n), phrase: every(n, k), first: 230, other: 260, gap: 5, ideal: 9}
	}
	for _, tt := range []struct {
		name string
		c    pageCost
		ok   func([]int) bool
	}{
		{"one page", page(5, 1), func(s []int) bool { return slices.Equal(s, []int{0}) }},
		{"no stray system", page(6, 1), func(s []int) bool { return len(s) == 2 && s[1] <= 4 }},
		{"turns between phrases", page(8, 2), func(s []int) bool { return len(s) == 2 && s[1]%2 == 0 }},
		{"a system higher than the page", pageCost{heights: []float64{400, 40}, phrase: every(2, 1), first: 230, other: 260}, func(s []int) bool { return slices.Equal(s, []int{0, 1}) }},
	} {
		if got := tt.c.plan(); !tt.ok(got) {
			t.Errorf("%s: pages begin with %v", tt.name, got)
		}
	}
}
