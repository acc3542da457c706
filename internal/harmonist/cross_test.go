package harmonist

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"testing"

	"gradatim/internal/sharedtest"
)

// result is how well sheets were met, by tune: shares summed over tunes.
type result struct{ tunes, triad, three, key float64 }

func (r *result) add(o result) {
	r.tunes += o.tunes
	r.triad += o.triad
	r.three += o.three
	r.key += o.key
}

func (r result) String() string {
	return fmt.Sprintf("%3.0f tunes: triad %.3f, among the first three %.3f, key %.3f", r.tunes, r.triad/r.tunes, r.three/r.tunes, r.key/r.tunes)
}

// met compares what was found for a bare tune with its sheet.
func (x *example) met(h *heard, post [][]float64, chosen []int) result {
	var all, hit, three float64
	for i, s := range h.slots {
		key := h.regions[s.region].key
		order := ranked(post[i])
		for _, sp := range x.spans {
			l := float64(min(sp.End, s.end) - max(sp.At, s.at))
			if l <= 0 || !sp.Sounding() {
				continue
			}
			all += l
			state := stateOf(sp.Chord, key)
			if state < 0 {
				continue
			}
			if chosen[i] == state {
				hit += l
			}
			if slices.Index(order, state) < 3 {
				three += l
			}
		}
	}
	if all == 0 {
		return result{}
	}
	r := result{tunes: 1, triad: hit / all, three: three / all}
	if k, want := h.regions[0].key, x.h.regions[0].key; k.Tonic.Class() == want.Tonic.Class() && paletteOf(k) == paletteOf(want) {
		r.key = 1
	}
	return r
}

// crossed is what others, fitted to the other sheets, find for each sheet.
type crossed struct{ baseline, fitted [2]result }

// cross validates by tune: each fold is judged by weights that have not seen it.
func cross(xs []*example, folds, rounds int, only ...int) crossed {
	var mu sync.Mutex
	var wg sync.WaitGroup
	out := make([]crossed, len(xs))
	places := make(chan struct{}, runtime.GOMAXPROCS(0))
	for f := range folds {
		if len(only) > 0 && !slices.Contains(only, f) {
			continue
		}
		wg.Add(1)
		go func() {
			defer wg.Done()
			places <- struct{}{}
			defer func() { <-places }()
			var others []*example
			for i, x := range xs {
				if i%folds != f {
					others = append(others, x)
				}
			}
			m := fit(others, rounds)
			base := count(others)
			for i, x := range xs {
				if i%folds != f {
					continue
				}
				var c crossed
				kind := 0
				if x.song {
					kind = 1
				}
				h := hear(x.bare)
				m.findKeys(&h)
				h.settle()
				post := base.thoughts(&h)
				best := make([]int, len(post))
				for k := range post {
					best[k] = ranked(post[k])[0]
				}
				c.baseline[kind] = x.met(&h, post, best)
				post, _ = m.thoughts(&h, x.group, Found)
				post = tied(&h, post)
				c.fitted[kind] = x.met(&h, post, h.decide(post))
				mu.Lock()
				out[i] = c
				mu.Unlock()
			}
		}()
	}
	wg.Wait()
	var sum crossed
	for _, c := range out {
		for k := range 2 {
			sum.baseline[k].add(c.baseline[k])
			sum.fitted[k].add(c.fitted[k])
		}
	}
	return sum
}

func (c crossed) log(t *testing.T) (baseline, fitted result) {
	baseline, fitted = c.baseline[0], c.fitted[0]
	baseline.add(c.baseline[1])
	fitted.add(c.fitted[1])
	for _, row := range []struct {
		name string
		r    result
	}{{"baseline, dances", c.baseline[0]}, {"baseline, songs ", c.baseline[1]}, {"baseline, all   ", baseline},
		{"fitted, dances  ", c.fitted[0]}, {"fitted, songs   ", c.fitted[1]}, {"fitted, all     ", fitted}} {
		t.Logf("%s %s", row.name, row.r)
	}
	return baseline, fitted
}

const rounds = 10

// TestCross is the measurement of docs/harmonising.md: by tune in ten folds, in the long
// form; one fold of them else, whose floors lie .05 below what was measured.
func TestCross(t *testing.T) {
	if testing.Short() {
		t.Skip("fits weights")
	}
	xs := sheets(t)
	folds := []int{}
	if n := sharedtest.Every(0, 3); n > 1 {
		folds = append(folds, n)
	}
	baseline, fitted := cross(xs, 10, rounds, folds...).log(t)
	if len(folds) == 0 && fitted.triad-baseline.triad < .03*fitted.tunes {
		t.Error("no better than counting by .03")
	}
	if fitted.triad < .55*fitted.tunes || fitted.three < .82*fitted.tunes || fitted.key < .8*fitted.tunes {
		t.Error("below the floors")
	}
}
