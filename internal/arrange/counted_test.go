package arrange

import "slices"

// way is one way through all places of a search, counted out, with what was chosen at
// each place as two numbers.
type way struct {
	cost int
	keys []int
}

// on is the way with another place.
func (w way) on(cost, first, second int) way {
	return way{w.cost + cost, append(slices.Clone(w.keys), first, second)}
}

// first and second return what was chosen at a place.
func (w way) first(place int) int  { return w.keys[2*place] }
func (w way) second(place int) int { return w.keys[2*place+1] }

// last is the number of the place that was added last.
func (w way) last() int { return len(w.keys)/2 - 1 }

// before orders ways as a search must: by cost, then read from the end by the second
// number and the first.
func (w way) before(v way) bool {
	if w.cost != v.cost {
		return w.cost < v.cost
	}
	for i := len(w.keys) - 1; i >= 0; i-- {
		if w.keys[i] != v.keys[i] {
			return w.keys[i] < v.keys[i]
		}
	}
	return false
}

// cheapest returns the way that a search must find, and whether others cost as much.
func cheapest(all []way) (best way, tie bool) {
	best = all[0]
	for _, w := range all {
		if w.before(best) {
			best = w
		}
	}
	same := 0
	for _, w := range all {
		if w.cost == best.cost {
			same++
		}
	}
	return best, same > 1
}

// extra is what the cheapest of the ways that hold costs more than the best; absent
// where none does.
func extra(all []way, best way, absent int, holds func(way) bool) int {
	least := absent
	for _, w := range all {
		if holds(w) {
			least = min(least, w.cost-best.cost)
		}
	}
	return least
}
