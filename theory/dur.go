package theory

import (
	"fmt"
	"math/bits"
)

// Dur is an exact duration or position: an integer count of 1/20160 of a whole
// note. 20160 = 2⁶·3²·5·7 holds 64th notes, triplets, quintuplets and
// septuplets without rounding. Positions in a piece are Durs from its start.
type Dur int64

// The note values.
const (
	Whole        Dur = 20160
	Half         Dur = Whole / 2
	Quarter      Dur = Whole / 4
	Eighth       Dur = Whole / 8
	Sixteenth    Dur = Whole / 16
	ThirtySecond Dur = Whole / 32
	SixtyFourth  Dur = Whole / 64
)

// Fraction returns num/den of a whole note and whether that is exact; where it
// is not, the value is rounded to the nearest Dur, half away from zero, and never
// goes beyond ±2⁶². den must be positive.
func Fraction(num, den int64) (d Dur, exact bool) {
	if den <= 0 {
		panic(fmt.Sprintf("theory: duration with denominator %d", den))
	}
	neg := num < 0
	if neg {
		num = -num
	}
	hi, lo := bits.Mul64(uint64(num), uint64(Whole))
	const most = 1 << 62 // beyond any piece of music; saturate
	q, r := uint64(most), uint64(0)
	if hi < uint64(den) {
		q, r = bits.Div64(hi, lo, uint64(den))
	}
	exact = r == 0 && q < most
	if r >= uint64(den)-r && r != 0 {
		q++
	}
	d = Dur(min(q, most))
	if neg {
		d = -d
	}
	return d, exact
}

// String writes a Dur as a fraction of a whole note: "1/4", "3/8", "1".
func (d Dur) String() string {
	if d%Whole == 0 {
		return fmt.Sprintf("%d", d/Whole)
	}
	g := gcd(int64(d), int64(Whole))
	return fmt.Sprintf("%d/%d", int64(d)/g, int64(Whole)/g)
}

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
