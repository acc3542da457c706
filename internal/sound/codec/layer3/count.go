package layer3

import (
	"math"
	"sync"
)

// A part is a granule of one channel on its way into a frame.
type part struct {
	kind  int
	x     [granule]float32 // lines
	power [granule]float32 // |x|^¾, the scale on which they are rounded
	shape shape

	// What is decided, as the side information says it (the standard, 2.4.2.7).
	gain    int // global_gain
	bits    int // of scale factors and code words
	pairs   int // big_values
	ones    int // quads behind the pairs, count1
	table   [3]int
	region  [2]int // region0_count, region1_count
	quadB   bool   // count1table_select
	q       [granule]uint16
	top     [maxBands]float32 // largest power of each band
	topLine int               // lines from here on are zero
	least   int               // gains below make values too large
	rounded bool              // q is of gain
}

// round rounds the lines with a gain. It returns false where a value would be too large.
//
// A line x becomes the whole number q whose inverse, step · q^(4/3), is nearest to it. On the
// scale of |x|^¾ the middle between q and q+1 lies above q + ½, far for 0 and little for larger
// ones. (The standard's C.1.5.4.2.2 has 0.5946 for all, the exact middle for 0 only; that costs 0.4 dB.)
func (p *part) round(gain int) bool {
	p.gain = gain
	bands := layoutOf(p.kind).edges
	near := nearest()
	end := 0
	for b := range len(bands) - 1 {
		from, to := int(bands[b]), int(bands[b+1])
		if from >= p.topLine {
			break
		}
		m := multiplier(gain - p.shape.relief(b))
		if largest := float32(p.top[b] * m); largest >= limit {
			return false
		} else if largest < up0 {
			clear(p.q[from:to])
			continue
		}
		q := p.q[from:to]
		for i, v := range p.power[from:to] {
			v = float32(v * m)
			q[i] = uint16(int32(v + near[min(uint32(int32(v)), uint32(len(near)-1))]))
		}
		end = to
	}
	clear(p.q[end:])
	// Find the pairs and quads from the end.
	for end > 0 && p.q[end-1]|p.q[end-2] == 0 {
		end -= 2
	}
	p.ones = 0
	for end >= 4 && p.q[end-1]|p.q[end-2]|p.q[end-3]|p.q[end-4] <= 1 {
		end -= 4
		p.ones++
	}
	p.pairs = end / 2
	return true
}

const (
	limit = largest - 1
	up0   = 0.59 // below this all is 0
)

// nearest is what has to be added to a power before its fraction is cut off, by its whole part.
var nearest = sync.OnceValue(func() *[16]float32 {
	var t [16]float32
	for q := range t {
		lower, upper := math.Pow(float64(q), 4.0/3), math.Pow(float64(q+1), 4.0/3)
		t[q] = float32(float64(q+1) - math.Pow((lower+upper)/2, 0.75))
	}
	return &t
})

// cost counts the bits of rounded lines; where exact, the borders of the regions are chosen
// as well, otherwise those of last time stand.
func (p *part) cost(h *huffman, exact bool) int {
	// Sums of the costs and largest values, from the first line to each border that a region can have.
	var sum [23]lanes
	var top [22]int
	edges := &longBands
	if p.kind == short {
		edges = &thirdBands
	}
	end := 2 * p.pairs
	last := 0
	var a0, a1, a2, a3 uint64 // of a lane each: an array would live in memory
	for b := 0; b < 22 && int(edges[b]) < end; b++ {
		from, to := int(edges[b]), min(int(edges[b+1]), end)
		var high uint16
		for q := p.q[from:to]; len(q) >= 2; q = q[2:] {
			x, y := q[0], q[1]
			high = max(high, x, y)
			c := &h.cost[uint8(min(x, 15)<<4|min(y, 15))]
			a0, a1, a2, a3 = a0+c[0], a1+c[1], a2+c[2], a3+c[3]
		}
		top[b] = int(high)
		last = b + 1
		sum[last] = lanes{a0, a1, a2, a3}
	}
	bits := 0
	span := func(from, to int) (int, int) {
		if from >= to {
			return 0, 0
		}
		d := sum[to]
		for i := range d {
			d[i] -= sum[from][i]
		}
		high := 0
		for _, v := range top[from:to] {
			high = max(high, v)
		}
		return best(&d, high)
	}
	switch {
	case p.kind != long:
		// One border, at the 36th line (2.4.2.7, region_address).
		p.region = [2]int{7, 36}
		if p.kind == short {
			p.region[0] = 8
		}
		at := min(borderShort(edges), last)
		var a, b int
		p.table[0], a = span(0, at)
		p.table[1], b = span(at, last)
		p.table[2] = 0
		bits = a + b
	case exact:
		// Cheapest two borders: region 0 of 1 to 16 bands, region 1 of 1 to 8.
		bits = -1
		var tail [23][2]int // the rest from a band on
		for b := 1; b <= last; b++ {
			tail[b][0], tail[b][1] = span(b, last)
		}
		for r0 := 1; r0 <= min(16, max(last, 1)); r0++ {
			t0, b0 := span(0, min(r0, last))
			if bits >= 0 && b0 >= bits {
				break
			}
			for r1 := 1; r1 <= 8; r1++ {
				at := min(r0+r1, last)
				t1, b1 := span(min(r0, last), at)
				if bits >= 0 && b0+b1 >= bits { // and no less with more bands
					break
				}
				if all := b0 + b1 + tail[at][1]; bits < 0 || all < bits {
					bits = all
					p.region = [2]int{r0 - 1, r1 - 1}
					p.table = [3]int{t0, t1, tail[at][0]}
				}
				if at == last {
					break
				}
			}
		}
	default:
		r0 := min(p.region[0]+1, last)
		r1 := min(r0+min(p.region[1], 7)+1, last) // windows may have been switched last time
		for i, r := range [3][2]int{{0, r0}, {r0, r1}, {r1, last}} {
			var b int
			p.table[i], b = span(r[0], r[1])
			bits += b
		}
	}
	var quads uint32
	for i := end; i < end+4*p.ones; i += 4 {
		q := (*[4]uint16)(p.q[i:])
		quads += h.quads[(q[0]<<3|q[1]<<2|q[2]<<1|q[3])&15]
	}
	a, b := int(quads&0xffff), int(quads>>16)
	p.quadB = b < a
	return bits + min(a, b)
}
