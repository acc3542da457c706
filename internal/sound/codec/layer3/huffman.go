package layer3

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"
	"sync"
)

// The code words of table B.7 of the standard: a line for each x, a word for each y.
// (Read out of the decoder github.com/hajimehoshi/go-mp3, Apache-2.0, and compared with
// a second program; the tests decode every pair with other decoders.)
//
//go:embed huffman.txt
var huffmanText string

// A word is a code word, the signs behind it not included.
type word struct {
	bits uint32
	n    uint8
}

// Lanes of costs: the bits of a pair in each table of code words, signs included, and
// whether a value has to be continued with linbits. Sixteen bits each hold the sum over a granule:
// 288 pairs of 21 bits and less.
type lanes [4]uint64

func (a *lanes) at(i int) int { return int(a[i/4] >> (16 * (i % 4)) & 0xffff) }

const (
	lane16  = 13 // table 16, of which 17 to 23 are copies with other linbits
	lane24  = 14 // table 24, of which 25 to 31 are copies
	escapes = 15
)

// laneTable is the table of the standard for each lane.
var laneTable = [15]uint8{1, 2, 3, 5, 6, 7, 8, 9, 10, 11, 12, 13, 15, 16, 24}

// linbits of the tables from 16 and from 24 on (table B.7).
var (
	linbits16 = [8]uint8{1, 2, 3, 4, 6, 8, 10, 13}
	linbits24 = [8]uint8{4, 5, 6, 7, 8, 9, 11, 13}
)

// largest is the largest value that can be written: 15 and 13 linbits.
const largest = 15 + 1<<13 - 1

type huffman struct {
	pair [32]*[256]word // by table and x<<4 | y
	quad [2][16]word    // tables A and B (32 and 33), by v<<3 | w<<2 | x<<1 | y
	cost [256]lanes     // of a pair, values above 15 as 15
	// Bits of four values in each of the quad tables, signs included: A in the low half.
	quads [16]uint32
}

var words = sync.OnceValue(func() *huffman {
	h := new(huffman)
	table, row := 0, 0
	for line := range strings.Lines(huffmanText) {
		f := strings.Fields(line)
		if f[0] == "table" {
			table, _ = strconv.Atoi(f[1])
			row = 0
			if table < 32 {
				h.pair[table] = new([256]word)
			}
			continue
		}
		for y, text := range f {
			bits, err := strconv.ParseUint(text, 2, 32)
			if err != nil {
				panic(fmt.Sprintf("table %d: %v", table, err))
			}
			w := word{uint32(bits), uint8(len(text))}
			if table < 32 {
				h.pair[table][row<<4|y] = w
			} else {
				h.quad[table-32][row<<2|y] = w
			}
		}
		row++
	}
	for i := range h.cost {
		x, y := i>>4, i&15
		signs := min(x, 1) + min(y, 1)
		for l, table := range laneTable {
			if w := h.pair[table][i]; w.n > 0 {
				h.cost[i][l/4] |= uint64(int(w.n)+signs) << (16 * (l % 4))
			}
		}
		h.cost[i][escapes/4] |= uint64(x/15+y/15) << (16 * (escapes % 4))
	}
	for i := range h.quads {
		signs := uint32(i&1 + i>>1&1 + i>>2&1 + i>>3)
		h.quads[i] = uint32(h.quad[0][i].n) + signs + (uint32(h.quad[1][i].n)+signs)<<16
	}
	for i := 17; i < 24; i++ {
		h.pair[i] = h.pair[16]
		h.pair[i+8] = h.pair[24]
	}
	return h
})

// linbits returns how many bits continue a value of 15 in a table.
func linbits(table int) int {
	switch {
	case table >= 24:
		return int(linbits24[table-24])
	case table >= 16:
		return int(linbits16[table-16])
	}
	return 0
}

// best returns the table in which pairs of values up to top are shortest, and the bits
// that they take there. Ties go to the lower table.
func best(sum *lanes, top int) (table, bits int) {
	pick := func(from, to int) {
		for l := from; l <= to; l++ {
			if b := sum.at(l); table == 0 || b < bits {
				table, bits = int(laneTable[l]), b
			}
		}
	}
	switch {
	case top == 0:
	case top == 1:
		pick(0, 0)
	case top == 2:
		pick(1, 2)
	case top == 3:
		pick(3, 4)
	case top <= 5:
		pick(5, 7)
	case top <= 7:
		pick(8, 10)
	case top <= 15:
		pick(11, 12)
	default:
		more := sum.at(escapes)
		for i, n := range linbits16 {
			if top-15 < 1<<n {
				table, bits = 16+i, sum.at(lane16)+more*int(n)
				break
			}
		}
		for i, n := range linbits24 {
			if top-15 < 1<<n {
				if b := sum.at(lane24) + more*int(n); b < bits {
					table, bits = 24+i, b
				}
				break
			}
		}
	}
	return table, bits
}
