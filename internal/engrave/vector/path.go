package vector

import (
	"fmt"
	"math"
	"strconv"
)

type op uint8

const (
	opMove  op = iota + 1 // one point
	opLine                // one point
	opCubic               // three points
	opClose               // none
)

// Path is an outline of lines and cubic curves. The zero value is empty and
// ready. A path that is part of a drawing must not be changed.
type Path struct {
	ops []op
	pts []Point
}

// Empty tells whether the path has nothing in it.
func (p *Path) Empty() bool { return len(p.ops) == 0 }

// MoveTo starts a new outline at a point.
func (p *Path) MoveTo(x, y float64) { p.add(opMove, Point{x, y}) }

// LineTo draws a line.
func (p *Path) LineTo(x, y float64) { p.add(opLine, Point{x, y}) }

// CubicTo draws a cubic Bézier curve.
func (p *Path) CubicTo(a, b, to Point) { p.add(opCubic, a, b, to) }

// QuadTo draws a quadratic Bézier curve, as the cubic one that equals it.
func (p *Path) QuadTo(c, to Point) {
	from := p.last()
	p.CubicTo(
		Point{from.X + (c.X-from.X)*2/3, from.Y + (c.Y-from.Y)*2/3},
		Point{to.X + (c.X-to.X)*2/3, to.Y + (c.Y-to.Y)*2/3}, to)
}

// Close ends the outline where it began.
func (p *Path) Close() { p.add(opClose) }

func (p *Path) add(o op, pts ...Point) {
	p.ops = append(p.ops, o)
	p.pts = append(p.pts, pts...)
}

func (p *Path) last() Point {
	if len(p.pts) == 0 {
		return Point{}
	}
	return p.pts[len(p.pts)-1]
}

// Rectangle adds a rectangle.
func (p *Path) Rectangle(x, y, w, h float64) {
	p.MoveTo(x, y)
	p.LineTo(x+w, y)
	p.LineTo(x+w, y+h)
	p.LineTo(x, y+h)
	p.Close()
}

// Ellipse adds an ellipse around (x, y).
func (p *Path) Ellipse(x, y, rx, ry float64) {
	const k = 0.5522847498 // (√2−1)·4/3: a cubic that leaves the circle by 0.03 %
	p.MoveTo(x+rx, y)
	p.CubicTo(Point{x + rx, y + k*ry}, Point{x + k*rx, y + ry}, Point{x, y + ry})
	p.CubicTo(Point{x - k*rx, y + ry}, Point{x - rx, y + k*ry}, Point{x - rx, y})
	p.CubicTo(Point{x - rx, y - k*ry}, Point{x - k*rx, y - ry}, Point{x, y - ry})
	p.CubicTo(Point{x + k*rx, y - ry}, Point{x + rx, y - k*ry}, Point{x + rx, y})
	p.Close()
}

// each calls f for every part with its start and its (one to three) points;
// for a close, with the point where the outline began.
func (p *Path) each(f func(o op, from Point, pts []Point)) {
	var start, at Point
	i := 0
	for _, o := range p.ops {
		switch o {
		case opMove:
			start = p.pts[i]
			f(o, at, p.pts[i:i+1])
			at = start
			i++
		case opLine:
			f(o, at, p.pts[i:i+1])
			at = p.pts[i]
			i++
		case opCubic:
			f(o, at, p.pts[i:i+3])
			at = p.pts[i+2]
			i += 3
		case opClose:
			f(o, at, []Point{start})
			at = start
		default:
			panic(fmt.Sprintf("vector: unexpected part %d of a path", o))
		}
	}
}

// Transform returns the path's image.
func (p *Path) Transform(m Matrix) *Path {
	out := &Path{ops: p.ops, pts: make([]Point, len(p.pts))}
	for i, q := range p.pts {
		out.pts[i] = m.On(q)
	}
	return out
}

// Append adds the parts of q.
func (p *Path) Append(q *Path) {
	p.ops = append(p.ops, q.ops...)
	p.pts = append(p.pts, q.pts...)
}

// Bounds returns the smallest box around the path, exact for curves.
func (p *Path) Bounds() Rect {
	r := EmptyRect()
	p.each(func(o op, from Point, pts []Point) {
		switch o {
		case opLine:
			r = r.Add(from).Add(pts[0])
		case opCubic:
			r = r.Add(from).Add(pts[2])
			for _, t := range extrema(from.X, pts[0].X, pts[1].X, pts[2].X) {
				r = r.Add(cubicAt(from, pts, t))
			}
			for _, t := range extrema(from.Y, pts[0].Y, pts[1].Y, pts[2].Y) {
				r = r.Add(cubicAt(from, pts, t))
			}
		}
	})
	return r
}

func cubicAt(from Point, p []Point, t float64) Point {
	u := 1 - t
	a, b, c, d := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
	return Point{a*from.X + b*p[0].X + c*p[1].X + d*p[2].X, a*from.Y + b*p[0].Y + c*p[1].Y + d*p[2].Y}
}

// extrema returns where, between 0 and 1, the derivative of a cubic is zero.
func extrema(a, b, c, d float64) []float64 {
	// The derivative is 3·(A·t² + B·t + C).
	A, B, C := -a+3*b-3*c+d, 2*(a-2*b+c), b-a
	var out []float64
	keep := func(t float64) {
		if t > 0 && t < 1 {
			out = append(out, t)
		}
	}
	if math.Abs(A) < 1e-12 {
		if B != 0 {
			keep(-C / B)
		}
		return out
	}
	if disc := B*B - 4*A*C; disc >= 0 {
		s := math.Sqrt(disc)
		keep((-B + s) / (2 * A))
		keep((-B - s) / (2 * A))
	}
	return out
}

// flatten returns each outline as a chain of points that leaves the curves by
// at most tol, and whether it is closed.
func (p *Path) flatten(tol float64) (chains [][]Point, closed []bool) {
	begin := func(at Point) {
		chains = append(chains, []Point{at})
		closed = append(closed, false)
	}
	p.each(func(o op, from Point, pts []Point) {
		if o == opMove {
			begin(pts[0])
			return
		}
		if n := len(chains); n == 0 || closed[n-1] {
			begin(from)
		}
		n := len(chains) - 1
		switch o {
		case opLine:
			chains[n] = append(chains[n], pts[0])
		case opCubic:
			// Wang's formula: with second differences of at most dd, k chords
			// leave a cubic by at most ¾·dd/k².
			dd := math.Max(math.Hypot(from.X-2*pts[0].X+pts[1].X, from.Y-2*pts[0].Y+pts[1].Y),
				math.Hypot(pts[0].X-2*pts[1].X+pts[2].X, pts[0].Y-2*pts[1].Y+pts[2].Y))
			k := int(math.Ceil(math.Sqrt(dd * 0.75 / tol)))
			k = max(1, min(k, 100))
			for i := 1; i < k; i++ {
				chains[n] = append(chains[n], cubicAt(from, pts, float64(i)/float64(k)))
			}
			chains[n] = append(chains[n], pts[2])
		case opClose:
			closed[n] = true
		}
	})
	return chains, closed
}

// Strips covers the outlines with boxes at most that wide: what a slur leaves free
// under its arch is not in them.
func (p *Path) Strips(width float64) (out []Rect) {
	chains, _ := p.flatten(width / 20)
	for _, c := range chains {
		for i := 1; i < len(c); i++ {
			a, b := c[i-1], c[i]
			n := int(math.Ceil(math.Abs(b.X-a.X) / width))
			at := func(k int) Point {
				t := float64(k) / float64(max(n, 1))
				return Point{a.X + t*(b.X-a.X), a.Y + t*(b.Y-a.Y)}
			}
			for k := range max(n, 1) {
				out = append(out, EmptyRect().Add(at(k)).Add(at(k+1)))
			}
		}
	}
	return out
}

// ParsePath reads SVG path data. Arcs are refused: the engraver and the fonts
// write none.
func ParsePath(d string) (*Path, error) {
	p := &Path{}
	s := pathScanner{s: d}
	var cmd byte
	var at, start, ctrl Point
	prev := byte(0)
	for {
		s.space()
		if s.i == len(s.s) {
			return p, nil
		}
		if c := s.s[s.i]; c >= 'A' && c <= 'z' {
			cmd = c
			s.i++
		} else if cmd == 0 || cmd == 'Z' || cmd == 'z' {
			return nil, fmt.Errorf("path data %q: no command at %d", d, s.i)
		}
		rel := cmd >= 'a'
		base := Point{}
		if rel {
			base = at
		}
		pt := func() Point {
			x, y := s.number(), s.number()
			return Point{base.X + x, base.Y + y}
		}
		up := cmd &^ 0x20
		switch up {
		case 'M':
			at = pt()
			start = at
			p.MoveTo(at.X, at.Y)
			cmd = 'L' | cmd&0x20
		case 'L':
			at = pt()
			p.LineTo(at.X, at.Y)
		case 'H':
			at = Point{base.X + s.number(), at.Y}
			p.LineTo(at.X, at.Y)
		case 'V':
			at = Point{at.X, base.Y + s.number()}
			p.LineTo(at.X, at.Y)
		case 'C', 'S':
			a := at
			if up == 'C' {
				a = pt()
			} else if prev == 'C' || prev == 'S' {
				a = Point{2*at.X - ctrl.X, 2*at.Y - ctrl.Y}
			}
			ctrl = pt()
			at = pt()
			p.CubicTo(a, ctrl, at)
		case 'Q', 'T':
			if up == 'Q' {
				ctrl = pt()
			} else if prev == 'Q' || prev == 'T' {
				ctrl = Point{2*at.X - ctrl.X, 2*at.Y - ctrl.Y}
			} else {
				ctrl = at
			}
			at = pt()
			p.QuadTo(ctrl, at)
		case 'Z':
			p.Close()
			at = start
		default:
			return nil, fmt.Errorf("path data %q: command %q is not supported", d, cmd)
		}
		prev = up
		if s.bad {
			return nil, fmt.Errorf("path data %q: not a number at %d", d, s.i)
		}
	}
}

type pathScanner struct {
	s   string
	i   int
	bad bool
}

func (s *pathScanner) space() {
	for s.i < len(s.s) && (s.s[s.i] == ' ' || s.s[s.i] == ',' || s.s[s.i] == '\n' || s.s[s.i] == '\t' || s.s[s.i] == '\r') {
		s.i++
	}
}

func (s *pathScanner) number() float64 {
	s.space()
	j := s.i
	if j < len(s.s) && (s.s[j] == '-' || s.s[j] == '+') {
		j++
	}
	dot := false
	for j < len(s.s) {
		c := s.s[j]
		if c == '.' && !dot {
			dot = true
		} else if (c == 'e' || c == 'E') && j+1 < len(s.s) {
			if s.s[j+1] == '-' || s.s[j+1] == '+' {
				j++
			}
		} else if c < '0' || c > '9' {
			break
		}
		j++
	}
	v, err := strconv.ParseFloat(s.s[s.i:j], 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		s.bad = true
	}
	s.i = j
	return v
}
