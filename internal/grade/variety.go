package grade

import "math/bits"

// log2Bits is the precision of log2: 2⁻²⁰.
const log2Bits = 20

// log2 returns the logarithm of n ≥ 1 to base 2 in units of 2⁻²⁰, rounded down:
// the whole part is the position of the highest bit, each further binary digit
// comes from squaring the mantissa. Integers, because the last digit of a
// floating-point logarithm differs from one processor to another.
func log2(n uint64) int64 {
	if n < 2 {
		return 0
	}
	whole := bits.Len64(n) - 1
	m := n << (63 - whole) // the mantissa in [1, 2), 63 fractional bits
	out := int64(whole)
	for range log2Bits {
		hi, _ := bits.Mul64(m, m) // [1, 4) with 62 fractional bits
		out <<= 1
		if hi>>63 == 1 {
			out |= 1
			m = hi
		} else {
			m = hi << 1
		}
	}
	return out
}

// variety returns the Shannon entropy of the counts in thousandths of a bit:
// log₂ N − (Σ n log₂ n)/N.
func variety(counts []int) int {
	total, sum := 0, int64(0)
	for _, n := range counts {
		if n > 0 {
			total += n
			sum += int64(n) * log2(uint64(n))
		}
	}
	if total == 0 {
		return 0
	}
	h := log2(uint64(total)) - sum/int64(total)
	return int((h*1000 + 1<<(log2Bits-1)) >> log2Bits)
}

// varietyOf is the variety of the keys that a hand strikes.
func (p *page) varietyOf(hand int) (milli, different int) {
	var counts [128]int
	for _, st := range p.strikes[hand] {
		for w, set := range st.keys {
			for ; set != 0; set &= set - 1 {
				counts[w<<6+bits.TrailingZeros64(set)]++
			}
		}
	}
	for _, n := range counts {
		if n > 0 {
			different++
		}
	}
	return variety(counts[:]), different
}
