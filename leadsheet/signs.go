package leadsheet

import (
	"math/bits"
	"strconv"
	"strings"
)

// Signs is what a page says at one of its bars about the order of playing. The zero
// Signs says nothing.
type Signs struct {
	Start  bool   // a repeat opens before the bar
	Break  bool   // a repeat without an opening sign reaches back to this bar, not beyond
	Times  int    // a repeat closes after the bar: the number of passes in all; 0: none closes
	Ending Passes // on which the bar is played (first, second ending); 0: on all

	EndingOpens bool // an ending begins with the bar

	Segno, Coda      bool // stand before the bar
	ToCoda, Fine     bool // take effect after the bar, once a jump has been made
	DaCapo, DalSegno bool // a jump after the bar
}

// MaxPasses is how often a section may be repeated.
const MaxPasses = 32

// Passes is a set of passes through a repeated section, counted from 1 to MaxPasses.
type Passes uint32

// PassesOf is the set of some passes; others than 1 to MaxPasses are left out.
func PassesOf(list ...int) Passes {
	var p Passes
	for _, n := range list {
		if n >= 1 && n <= MaxPasses {
			p |= 1 << (n - 1)
		}
	}
	return p
}

// Has tells whether a pass is in the set.
func (p Passes) Has(n int) bool { return n >= 1 && n <= MaxPasses && p>>(n-1)&1 == 1 }

// First is the first pass of the set; 0 in an empty one.
func (p Passes) First() int {
	if p == 0 {
		return 0
	}
	return bits.TrailingZeros32(uint32(p)) + 1
}

// Last is the last pass of the set; 0 in an empty one.
func (p Passes) Last() int { return bits.Len32(uint32(p)) }

// String lists the passes as an ending prints them: "1, 2".
func (p Passes) String() string {
	var out []string
	for n := 1; n <= MaxPasses; n++ {
		if p.Has(n) {
			out = append(out, strconv.Itoa(n))
		}
	}
	return strings.Join(out, ", ")
}
