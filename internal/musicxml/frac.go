package musicxml

import (
	"strconv"
	"strings"

	"gradatim/theory"
)

// frac is an exact position or length in quarter notes, in lowest terms with
// d > 0. The zero frac is not valid; use frac{0, 1}.
type frac struct{ n, d int64 }

// maxDenominator bounds what change after change of divisions can pile up;
// beyond it a sum is rounded to the grid of theory.Dur.
const maxDenominator = 1 << 24

func reduced(n, d int64) frac {
	a, b := n, d
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	if a == 0 {
		return frac{0, 1}
	}
	return frac{n / a, d / a}
}

func (f frac) add(g frac) frac {
	if f.d == g.d {
		return reduced(f.n+g.n, f.d)
	}
	s := reduced(f.n*g.d+g.n*f.d, f.d*g.d)
	if s.d > maxDenominator {
		dur, _ := s.dur()
		return reduced(int64(dur), int64(theory.Quarter))
	}
	return s
}

func (f frac) sub(g frac) frac { return f.add(frac{-g.n, g.d}) }

func (f frac) less(g frac) bool { return f.n*g.d < g.n*f.d }

func (f frac) zero() bool { return f.n == 0 }

// dur converts to the nearest Dur; exact tells whether nothing was rounded.
func (f frac) dur() (d theory.Dur, exact bool) { return theory.Fraction(f.n, 4*f.d) }

// snap converts to a Dur. Where the file's divisions cannot hold what was meant
// (a triplet in 256ths of a quarter), the nearest common subdivision within one
// tick of the file is taken.
func (f frac) snap(divisions frac) (d theory.Dur, exact bool) {
	if d, exact = f.dur(); exact {
		return d, true
	}
	tick, _ := frac{divisions.d, divisions.n}.dur()
	for _, k := range subdivisions {
		grid := theory.Quarter / k
		near := (d + grid/2) / grid * grid
		if int64(near)*divisions.n%(int64(theory.Quarter)*divisions.d) == 0 {
			continue // the file could have said that, and did not
		}
		if diff := near - d; -tick <= diff && diff <= tick && tick*4 < grid {
			return near, false
		}
	}
	return d, false
}

// subdivisions of a quarter, the commonest first.
var subdivisions = [...]theory.Dur{1, 2, 3, 4, 6, 8, 12, 16, 24, 5, 10, 7, 14, 20, 28}

// parseDecimal reads "4", "1.5", "-0.5": what MusicXML calls decimal. ok is false
// for anything else and for what is too large or too fine to be music.
func parseDecimal(s string) (f frac, ok bool) {
	whole, part, _ := strings.Cut(strings.TrimSpace(s), ".")
	neg := strings.HasPrefix(whole, "-")
	whole = strings.TrimLeft(whole, "+-")
	if whole == "" {
		whole = "0"
	}
	n, err := strconv.ParseInt(whole, 10, 32)
	if err != nil || len(s) == 0 {
		return frac{0, 1}, false
	}
	d := int64(1)
	for _, c := range part {
		if c < '0' || c > '9' {
			return frac{0, 1}, false
		}
		if d < 1000 {
			n, d = n*10+int64(c-'0'), d*10
		}
	}
	if neg {
		n = -n
	}
	return reduced(n, d), true
}
