package abc

import "gradatim/theory"

// frac is an exact fraction of a whole note. Numerators stay below 2³⁰·256 and
// denominators below maxDen, so products of two fit an int64.
type frac struct{ n, d int64 }

// maxDen bounds denominators; a finer value is rounded to 1/20160.
const maxDen = 1 << 20

func reduce(n, d int64) frac {
	a, b := n, d
	for b != 0 {
		a, b = b, a%b
	}
	if a == 0 {
		return frac{0, 1}
	}
	return frac{n / a, d / a}
}

// bound rounds to 1/20160 where the denominator has grown too large.
func (f frac) bound() frac {
	if f.d <= maxDen {
		return f
	}
	d, _ := theory.Fraction(f.n, f.d)
	return reduce(int64(d), int64(theory.Whole))
}

func (f frac) times(n, d int64) frac { return reduce(f.n*n, f.d*d).bound() }

func (f frac) mul(g frac) frac { return f.times(g.n, g.d) }

func (f frac) plus(g frac) frac { return reduce(f.n*g.d+g.n*f.d, f.d*g.d).bound() }

// less compares.
func (f frac) less(g frac) bool { return f.n*g.d < g.n*f.d }

// dur converts to a Dur; exact is false where it had to be rounded.
func (f frac) dur() (d theory.Dur, exact bool) { return theory.Fraction(f.n, f.d) }
