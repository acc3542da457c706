package vector

import "math"

// Point is a place. On a page units are millimetres, x to the right and y
// down.
type Point struct{ X, Y float64 }

// Rect is a box. Its zero value is a point at the origin; an empty box has
// X1 < X0.
type Rect struct{ X0, Y0, X1, Y1 float64 }

// EmptyRect holds nothing: the neutral element of Union.
func EmptyRect() Rect {
	return Rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
}

// Empty tells whether the box holds no point.
func (r Rect) Empty() bool { return r.X1 < r.X0 || r.Y1 < r.Y0 }

// W returns the width, H the height; 0 of an empty box.
func (r Rect) W() float64 { return max(0, r.X1-r.X0) }

// H returns the height.
func (r Rect) H() float64 { return max(0, r.Y1-r.Y0) }

// Union returns the smallest box around both.
func (r Rect) Union(s Rect) Rect {
	return Rect{min(r.X0, s.X0), min(r.Y0, s.Y0), max(r.X1, s.X1), max(r.Y1, s.Y1)}
}

// Add returns the smallest box around r and p.
func (r Rect) Add(p Point) Rect { return r.Union(Rect{p.X, p.Y, p.X, p.Y}) }

// Grow returns the box with d more on every side.
func (r Rect) Grow(d float64) Rect { return Rect{r.X0 - d, r.Y0 - d, r.X1 + d, r.Y1 + d} }

// Overlap returns what two boxes have in common; it may be empty.
func (r Rect) Overlap(s Rect) Rect {
	return Rect{max(r.X0, s.X0), max(r.Y0, s.Y0), min(r.X1, s.X1), min(r.Y1, s.Y1)}
}

// Matrix maps (x, y) to (A·x + C·y + E, B·x + D·y + F), as in SVG and PDF.
type Matrix struct{ A, B, C, D, E, F float64 }

// Identity maps every point to itself.
var Identity = Matrix{A: 1, D: 1}

// Translate returns the matrix that moves by (x, y).
func Translate(x, y float64) Matrix { return Matrix{1, 0, 0, 1, x, y} }

// Scale returns the matrix that scales the axes.
func Scale(x, y float64) Matrix { return Matrix{x, 0, 0, y, 0, 0} }

// Rotate returns the matrix that turns by degrees, clockwise on a page.
func Rotate(degrees float64) Matrix {
	s, c := math.Sincos(degrees * math.Pi / 180)
	return Matrix{c, s, -s, c, 0, 0}
}

// Mul returns the matrix that applies n first and m after it.
func (m Matrix) Mul(n Matrix) Matrix {
	return Matrix{
		m.A*n.A + m.C*n.B, m.B*n.A + m.D*n.B,
		m.A*n.C + m.C*n.D, m.B*n.C + m.D*n.D,
		m.A*n.E + m.C*n.F + m.E, m.B*n.E + m.D*n.F + m.F,
	}
}

// On maps a point.
func (m Matrix) On(p Point) Point { return Point{m.A*p.X + m.C*p.Y + m.E, m.B*p.X + m.D*p.Y + m.F} }

// Size is the factor by which lengths grow; for a matrix that scales the axes
// alike.
func (m Matrix) Size() float64 { return math.Sqrt(math.Abs(m.A*m.D - m.B*m.C)) }

// Box returns the smallest box around the image of r.
func (m Matrix) Box(r Rect) Rect {
	if r.Empty() {
		return r
	}
	out := EmptyRect()
	for _, p := range []Point{{r.X0, r.Y0}, {r.X1, r.Y0}, {r.X0, r.Y1}, {r.X1, r.Y1}} {
		out = out.Add(m.On(p))
	}
	return out
}
