package layer3

import "io"

const (
	headBytes = 4 + 32 // header and side information of a stereo frame
	// part2_3_length has 12 bits.
	partBits = 4095
)

// A stream writes frames. Each holds its own bits and none of another (main_data_begin is
// 0): a player that jumps into the file, as one does that begins at a bar, would lose a frame
// whose bits began before it.
type stream struct {
	w      io.Writer
	size   int  // bytes of a frame
	head   byte // third byte of the header
	frames int  // put
	data   bits
}

func newStream(w io.Writer, size int, head byte) *stream {
	return &stream{w: w, size: size, head: head}
}

// room is how many bytes of a frame are for its main data.
func (s *stream) room() int { return s.size - headBytes }

// put writes a frame whose parts are decided, and are no longer than the room.
func (s *stream) put(f *frame) error {
	b := &s.data
	b.b = b.b[:0]
	b.add(0xfffb, 16) // MPEG-1, Layer III, no check sum
	b.add(uint32(s.head), 8)
	mode := uint32(1 << 6) // joint stereo
	if f.sides {
		mode |= 2 << 4
	}
	b.add(mode, 8)
	b.add(0, 9) // main_data_begin
	f.side(b)
	f.main(b)
	b.flush()
	b.b = append(b.b, make([]byte, s.size-len(b.b))...)
	s.frames++
	_, err := s.w.Write(b.b)
	return err
}

// bits collects bits, the first the highest.
type bits struct {
	b    []byte
	acc  uint64
	have uint
}

func (b *bits) add(v uint32, n uint) {
	b.acc = b.acc<<n | uint64(v)
	b.have += n
	for b.have >= 8 {
		b.have -= 8
		b.b = append(b.b, byte(b.acc>>b.have))
	}
}

// flush fills the last byte up with zeros.
func (b *bits) flush() {
	if b.have > 0 {
		b.add(0, 8-b.have)
	}
}

// A frame is two granules of two channels.
type frame struct {
	sides bool // middle and side instead of left and right
	part  [2][channels]part
}

// lengths are slen1 and slen2 by scalefac_compress (2.4.2.7).
var lengths = [16][2]uint{
	{0, 0}, {0, 1}, {0, 2}, {0, 3}, {3, 0}, {1, 1}, {1, 2}, {1, 3},
	{2, 1}, {2, 2}, {2, 3}, {3, 1}, {3, 2}, {3, 3}, {4, 2}, {4, 3},
}

// side writes the side information (2.4.1.7), from private_bits on.
func (f *frame) side(b *bits) {
	flag := func(v bool) {
		if v {
			b.add(1, 1)
		} else {
			b.add(0, 1)
		}
	}
	b.add(0, 3)
	for c := range channels {
		for _, same := range f.part[1][c].shape.same {
			flag(same)
		}
	}
	for g := range f.part {
		for c := range f.part[g] {
			p := &f.part[g][c]
			b.add(uint32(p.bits), 12)
			b.add(uint32(p.pairs), 9)
			b.add(uint32(p.gain), 8)
			b.add(uint32(p.shape.compress), 4)
			flag(p.kind != long)
			if p.kind != long {
				b.add(uint32(p.kind), 2)
				b.add(0, 1) // no mixed blocks
				b.add(uint32(p.table[0]), 5)
				b.add(uint32(p.table[1]), 5)
				b.add(0, 9) // subblock_gain
			} else {
				for _, t := range p.table {
					b.add(uint32(t), 5)
				}
				b.add(uint32(p.region[0]), 4)
				b.add(uint32(p.region[1]), 3)
			}
			flag(p.shape.pre)
			flag(p.shape.coarse)
			flag(p.quadB)
		}
	}
}

// main writes scale factors and code words.
func (f *frame) main(b *bits) {
	h := words()
	for g := range f.part {
		for c := range f.part[g] {
			p := &f.part[g][c]
			if p.bits > 0 {
				p.shape.write(b, p.kind)
				p.write(b, h)
			}
		}
	}
}

// write writes the code words.
func (p *part) write(b *bits, h *huffman) {
	edge := [3]int{2 * p.pairs, 2 * p.pairs, 2 * p.pairs}
	if p.kind != long {
		edge[0] = min(36, edge[2])
	} else {
		edge[0] = min(int(longBands[min(p.region[0]+1, 22)]), edge[2])
		edge[1] = min(int(longBands[min(p.region[0]+p.region[1]+2, 22)]), edge[2])
	}
	i := 0
	sign := func(i int) {
		if p.x[i] < 0 {
			b.add(1, 1)
		} else {
			b.add(0, 1)
		}
	}
	for r, table := range p.table {
		if table == 0 {
			i = max(i, edge[r])
			continue
		}
		lin := uint(linbits(table))
		code := h.pair[table]
		for ; i < edge[r]; i += 2 {
			x, y := p.q[i], p.q[i+1]
			w := code[min(x, 15)<<4|min(y, 15)]
			b.add(w.bits, uint(w.n))
			if lin > 0 && x >= 15 {
				b.add(uint32(x-15), lin)
			}
			if x > 0 {
				sign(i)
			}
			if lin > 0 && y >= 15 {
				b.add(uint32(y-15), lin)
			}
			if y > 0 {
				sign(i + 1)
			}
		}
	}
	code := &h.quad[0]
	if p.quadB {
		code = &h.quad[1]
	}
	for i := 2 * p.pairs; i < 2*p.pairs+4*p.ones; i += 4 {
		q := (*[4]uint16)(p.q[i:])
		w := code[(q[0]<<3|q[1]<<2|q[2]<<1|q[3])&15]
		b.add(w.bits, uint(w.n))
		for k, v := range q {
			if v > 0 {
				sign(i + k)
			}
		}
	}
}
