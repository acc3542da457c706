package grade

// lzBars is the stretch that complexity is counted in: the number of phrases of a
// Lempel–Ziv parsing grows with the length of the text, so pieces of different
// length compare only over equal stretches.
const lzBars = 16

// patterns counts the new patterns of a hand and returns them in thousandths for
// 16 bars.
//
// Problem: how much of what a hand plays is new, how much comes again? Source:
// Ziv and Lempel 1978, the incremental parsing: the text (here the sets of keys
// struck, one after the other) is cut into the shortest pieces not met before, and
// the pieces are counted. It was used on pitch sets by Ramoneda et al. 2024 for
// grading piano music; that they count the pieces of 1978 and not the components
// of 1976 is from memory.
//
// The dictionary starts afresh in each stretch of 16 bars; the last stretch of a
// longer piece is its last 16 bars. A shorter piece is scaled up as a parsing
// grows, n/log n for n strikes: in its first bars everything is new. Cost: linear
// in the strikes. Rejected: one parsing of the whole piece divided by its length,
// which makes long pieces look easy.
func (p *page) patterns(hand int) int {
	n := len(p.bars)
	if n == 0 {
		return 0
	}
	sts := p.strikes[hand]
	total, stretches := 0, 0
	lz := parsing{}
	for from := 0; from < n; from += lzBars {
		first, last := from, min(from+lzBars, n)
		own := first // bars before it were tallied by the stretch before
		if last-first < lzBars && n > lzBars {
			first = n - lzBars
		}
		lo, hi := barRange(sts, first, last)
		lz.reset()
		for _, st := range sts[lo:hi] {
			if lz.next(st.keys) {
				total++
				if st.bar >= own {
					p.tallies[hand][st.bar].fresh++
				}
			}
		}
		stretches++
	}
	if n < lzBars {
		k := len(sts)
		grown := log2(uint64(k*lzBars/n + 1))
		return int(int64(total*1000*lzBars/n) * log2(uint64(k+1)) / max(1, grown))
	}
	return total * 1000 / stretches
}

// parsing is an incremental parsing in progress.
type parsing struct {
	symbols map[keySet]uint32
	steps   map[uint64]uint32 // node and symbol → node
	node    uint32
}

func (z *parsing) reset() {
	if z.symbols == nil {
		z.symbols, z.steps = map[keySet]uint32{}, map[uint64]uint32{}
	}
	clear(z.symbols)
	clear(z.steps)
	z.node = 0
}

// next takes a symbol and tells whether it completes a piece not met before.
func (z *parsing) next(k keySet) bool {
	sym, ok := z.symbols[k]
	if !ok {
		sym = uint32(len(z.symbols))
		z.symbols[k] = sym
	}
	at := uint64(z.node)<<32 | uint64(sym)
	if to, ok := z.steps[at]; ok {
		z.node = to
		return false
	}
	z.steps[at] = uint32(len(z.steps) + 1)
	z.node = 0
	return true
}

// barRange returns the strikes whose bars lie in [first, last).
func barRange(sts []strike, first, last int) (lo, hi int) {
	search := func(bar int) int {
		lo, hi := 0, len(sts)
		for lo < hi {
			if mid := (lo + hi) / 2; sts[mid].bar < bar {
				lo = mid + 1
			} else {
				hi = mid
			}
		}
		return lo
	}
	return search(first), search(last)
}
