package layer3

import (
	"math"
	"sync"
)

// tilt returns how much the form of the noise follows the ear: in a band where little is hidden noise
// stays as far below as everywhere, but where much is, it stays at one level, so many powers of
// two above (below) the mean of what bands hide. Noise n a line is then 1 / (1/hidden + 1/level): that form makes
// a weighted sum of noise and of noise to mask least at given bits, for a bit less in a band
// multiplies its noise whatever it is. The figures are chosen by docs/mp3.md.
func tilt(kbps int) float32 {
	switch {
	case kbps <= 128:
		return -1.5
	case kbps <= 160:
		return -2.5
	}
	return -3.8
}

// A control chooses what the noise is in all: one level for the four parts of a frame,
// relative to their thresholds, so that bits go where they are needed. It is searched for from
// a slow mean.
type control struct {
	out   *stream
	f     frame
	tilt  float32
	level float32 // in steps of global_gain
	past  [channels][22]float32
	h     *huffman
}

func newControl(out *stream, kbps int) *control {
	return &control{out: out, h: words(), tilt: tilt(kbps)}
}

// A sense is what the ear finds in a granule: powers and hidden noise by band; of left,
// right, and then middle and side.
type sense struct {
	power, noise [4][maxBands]float32
}

// frame codes two granules.
func (c *control) frame(blocks *[2]block) error {
	var senses [2]sense
	var mean, weight float32
	for g := range blocks {
		m, w := c.listen(&blocks[g], &senses[g])
		mean += m
		weight += w
	}
	mean /= weight
	var need [2]float32
	hear := float32(0.375 * c.level)
	for g := range blocks {
		l := layoutOf(blocks[g].kind)
		s := &senses[g]
		for b := range len(l.edges) - 1 {
			width := log2(float32(l.edges[b+1] - l.edges[b]))
			for i := range 3 {
				d := log2(s.noise[i][b]) - width
				flat := mean + c.tilt
				s.noise[i][b] = flat - log2(1+exp2(flat-d)) + width
			}
			s.noise[3][b] = s.noise[2][b]
			lines := float32(l.edges[b+1] - l.edges[b])
			for i := range 4 {
				over := log2(s.power[i][b]+tiny) - s.noise[i][b] - hear
				if over > -4 {
					need[i/2] += float32(lines * soft(over))
				}
			}
		}
	}
	c.f.sides = need[1] < need[0]
	for g := range blocks {
		for ch := range channels {
			p := &c.f.part[g][ch]
			p.load(&blocks[g], ch, c.f.sides)
			i := ch
			if c.f.sides {
				i += 2
			}
			var first *shape
			if g == 1 && blocks[0].kind != short && blocks[1].kind != short {
				first = &c.f.part[0][ch].shape
			}
			p.form(&senses[g].power[i], &senses[g].noise[i], hear, first)
		}
	}
	c.settle()
	return c.out.put(&c.f)
}

const tiny = 1e-20

// soft is log2(1 + 2^x), roughly.
func soft(x float32) float32 {
	switch {
	case x > 4:
		return x
	case x < -4:
		return 0
	}
	x += 4
	return float32(x * x * (1.0 / 16))
}

// listen finds powers and hidden noise of a granule.
func (c *control) listen(b *block, s *sense) (sum, weight float32) {
	e := hearings()
	l := layoutOf(b.kind)
	var cross [maxBands]float32
	for i := range len(l.edges) - 1 {
		x, y := b.x[0][l.edges[i]:l.edges[i+1]], b.x[1][l.edges[i]:l.edges[i+1]]
		var left, right, both float32
		for k, v := range x {
			w := y[k]
			left += float32(v * v)
			right += float32(w * w)
			both += float32(v * w)
		}
		s.power[0][i], s.power[1][i], cross[i] = left, right, both
	}
	var power, noise [22]float32
	for ch := range channels {
		if b.kind == short {
			for w := range 3 {
				for i := range e.short.n {
					power[i] = s.power[ch][3*i+w]
				}
				e.short.hide(&power, &noise)
				for i := range e.short.n {
					s.noise[ch][3*i+w] = noise[i]
				}
			}
			clear(c.past[ch][:])
			continue
		}
		// The lines of a tone rise and fall with its phase; the granule before evens it out.
		for i := range power {
			power[i] = max(s.power[ch][i], float32(0.5*(s.power[ch][i]+c.past[ch][i])))
			c.past[ch][i] = s.power[ch][i]
		}
		e.long.hide(&power, &noise)
		copy(s.noise[ch][:], noise[:])
	}
	for i := range len(l.edges) - 1 {
		half := float32(0.5 * (s.power[0][i] + s.power[1][i]))
		s.power[2][i], s.power[3][i] = max(half+cross[i], 0), max(half-cross[i], 0)
		s.noise[2][i] = min(s.noise[0][i], s.noise[1][i])
		lines := float32(l.edges[i+1] - l.edges[i])
		width := log2(lines)
		for ch := range channels {
			sum += float32(lines * (log2(s.noise[ch][i]) - width))
			weight += lines
		}
	}
	return sum, weight
}

// load takes the lines of a channel.
func (p *part) load(b *block, ch int, sides bool) {
	p.kind = b.kind
	x, y := &b.x[0], &b.x[1]
	switch {
	case !sides:
		p.x = b.x[ch]
	case ch == 0:
		for i := range p.x {
			p.x[i] = float32((x[i] + y[i]) * math.Sqrt2 / 2)
		}
	default:
		for i := range p.x {
			p.x[i] = float32((x[i] - y[i]) * math.Sqrt2 / 2)
		}
	}
}

func root(x float32) float32 { return float32(math.Sqrt(float64(x))) }

// form finds the steps of the bands for the noise that is wanted, as binary logarithms.
//
// Rounding to whole numbers on the scale of |x|^¾ leaves noise of 4/27 · step^1.5 · √|x| on a line
// (a twelfth of the square of the distance between neighbours). So the step follows from the noise
// of a band and the sum of its roots.
func (p *part) form(power, noise *[maxBands]float32, hear float32, first *shape) {
	l := layoutOf(p.kind)
	var want [maxBands]float32
	p.topLine, p.least, p.rounded = 0, 0, false
	for b := range len(l.edges) - 1 {
		from, to := l.edges[b], l.edges[b+1]
		want[b] = free
		p.top[b] = 0
		if power[b] < tiny {
			clear(p.power[from:to])
			continue
		}
		var roots, top float32
		pw := p.power[from:to]
		for i, v := range p.x[from:to] {
			v = math.Float32frombits(math.Float32bits(v) &^ (1 << 31))
			r := root(v)
			q := float32(r * root(r))
			pw[i] = q
			roots += r
			top = max(top, q)
		}
		p.top[b] = top
		p.topLine = int(to)
		if log2(power[b]) > noise[b]+hear-1 && roots > 0 {
			want[b] = float32((noise[b] - log2(roots) + 2.755) * (2.0 / 3)) // log2(27/4)
		}
	}
	p.shape.fit(p.kind, &want, first)
}

// multiplier is 2^(-¾ (gain-210)/4): what |x|^¾ is multiplied with.
func multiplier(gain int) float32 { return (*powers())[gain-lowest] }

const lowest = -200

var powers = sync.OnceValue(func() *[512]float32 {
	var t [512]float32
	for i := range t {
		t[i] = float32(math.Exp2(float64(-3.0 / 16 * float64(i+lowest-210))))
	}
	return &t
})

// at rounds a part at a level and returns its bits.
func (p *part) at(h *huffman, level int, exact bool) int {
	if p.topLine == 0 {
		p.gain, p.pairs, p.ones, p.table = 210, 0, 0, [3]int{}
		p.bits = 0
		if p.kind != long {
			p.region = [2]int{}
		}
		return 0
	}
	gain := 210 + int(math.Floor(float64(float32(4*p.shape.base)+0.5))) + level
	for gain = min(max(gain, p.least), 255); ; gain++ {
		if !p.rounded || p.gain != gain {
			if p.rounded = p.round(gain); !p.rounded {
				p.least = gain + 1
				continue
			}
		}
		p.bits = p.shape.bits + p.cost(h, exact)
		if p.bits <= partBits || gain == 255 {
			return p.bits
		}
	}
}

func (c *control) total(level int, exact bool) int {
	sum := 0
	for g := range c.f.part {
		for ch := range channels {
			sum += c.f.part[g][ch].at(c.h, level, exact)
		}
	}
	return sum
}

// spare is which part of a frame may stay empty before a finer level is looked for.
const spare = 64

// settle finds the level and rounds.
func (c *control) settle() {
	all := 8 * c.out.room()
	level := int(math.Floor(float64(c.level + 0.5)))
	if bits := c.total(level, true); bits > all || bits < all-all/spare {
		level = c.search(level, bits, all)
	}
	if level <= lowestLevel && c.flatten() {
		// A loud band is as fine as values allow; so may the others be.
		level = c.search(0, c.total(0, false), all)
	}
	for c.total(level, true) > all {
		level++
	}
	if level > lowestLevel { // else nothing was left to write
		c.level += float32(0.125 * (float32(level) - c.level))
	}
}

// flatten sets all scale factors to 0; it tells whether there were others.
func (c *control) flatten() bool {
	any := false
	for g := range c.f.part {
		for ch := range channels {
			p := &c.f.part[g][ch]
			any = any || p.shape.factor != [36]uint8{}
			p.shape = shape{base: p.shape.base}
			p.shape.pack(layoutOf(p.kind))
			p.least, p.rounded = 0, false
		}
	}
	return any
}

const lowestLevel = -400

// search returns the lowest level whose bits are not above most.
func (c *control) search(level, bits, most int) int {
	const slope = 200
	low, high := lowestLevel-1, 400 // bits are above most at low, not above at high
	for high-low > 1 {
		if bits > most {
			low = level
		} else {
			high = level
		}
		step := (bits - most) / slope
		if bits > most {
			step++
		} else {
			step = min(step, -1)
		}
		next := level + step
		if next <= low || next >= high {
			next = (low + high) / 2
			if high-low <= 1 {
				break
			}
		}
		level = next
		bits = c.total(level, false)
	}
	return high
}
