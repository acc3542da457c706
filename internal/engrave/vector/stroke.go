package vector

import "math"

// strokePolygons returns the area of a shape's line, mapped by m, as polygons
// that all turn the same way, so that the non-zero rule paints their union.
//
// Problem: the rasterizer fills areas only. Every segment becomes a rectangle,
// every corner a wedge or a disc, every round end a disc. Cost: linear in the
// number of segments. Rejected: one outline along both sides, which has to cut
// loops out of inner corners; with a union there are none.
func strokePolygons(s *Shape, m Matrix) [][]Point {
	w := s.Width / 2 * m.Size()
	var out [][]Point
	add := func(p []Point) {
		if area(p) < 0 {
			for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
				p[i], p[j] = p[j], p[i]
			}
		}
		out = append(out, p)
	}
	disc := func(c Point) {
		n := max(8, int(math.Ceil(math.Pi/math.Acos(1-math.Min(0.5, 0.05/math.Max(w, 0.05))))))
		p := make([]Point, n)
		for i := range p {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			p[i] = Point{c.X + w*cos, c.Y + w*sin}
		}
		add(p)
	}
	chains, closed := s.Path.Transform(m).flatten(0.1)
	if s.Dash != nil {
		chains, closed = dashes(chains, closed, s.Dash, m.Size())
	}
	for i, ch := range chains {
		ch = distinct(ch, closed[i])
		if len(ch) < 2 {
			if len(ch) == 1 && s.Cap == RoundCap {
				disc(ch[0])
			}
			continue
		}
		n := len(ch)
		segs := n - 1
		if closed[i] {
			segs = n
		}
		for j := range segs {
			a, b := ch[j], ch[(j+1)%n]
			l := math.Hypot(b.X-a.X, b.Y-a.Y)
			ux, uy := (b.X-a.X)/l, (b.Y-a.Y)/l
			if !closed[i] && s.Cap == SquareCap {
				if j == 0 {
					a = Point{a.X - ux*w, a.Y - uy*w}
				}
				if j == segs-1 {
					b = Point{b.X + ux*w, b.Y + uy*w}
				}
			}
			nx, ny := -uy*w, ux*w
			add([]Point{{a.X + nx, a.Y + ny}, {b.X + nx, b.Y + ny}, {b.X - nx, b.Y - ny}, {a.X - nx, a.Y - ny}})
			if j+1 < segs || closed[i] {
				corner(s.Join, ch[j], ch[(j+1)%n], ch[(j+2)%n], w, add, disc)
			}
		}
		if !closed[i] && s.Cap == RoundCap {
			disc(ch[0])
			disc(ch[n-1])
		}
	}
	return out
}

// corner fills the outer side of the corner at b. Mitres longer than twice the
// width are cut, as SVG's limit of 4 does at about 29°.
func corner(join Join, a, b, c Point, w float64, add func([]Point), disc func(Point)) {
	if join == RoundJoin {
		disc(b)
		return
	}
	l1, l2 := math.Hypot(b.X-a.X, b.Y-a.Y), math.Hypot(c.X-b.X, c.Y-b.Y)
	ux, uy, vx, vy := (b.X-a.X)/l1, (b.Y-a.Y)/l1, (c.X-b.X)/l2, (c.Y-b.Y)/l2
	cross, dot := ux*vy-uy*vx, ux*vx+uy*vy
	if math.Abs(cross) < 1e-9 {
		return
	}
	side := -w
	if cross < 0 {
		side = w
	}
	p := Point{b.X - uy*side, b.Y + ux*side}
	q := Point{b.X - vy*side, b.Y + vx*side}
	wedge := []Point{b, p, q}
	if half := math.Sqrt(math.Max(0, (1+dot)/2)); join == Miter && half > 0.25 {
		mx, my := -(uy + vy), ux+vx
		l := math.Hypot(mx, my)
		k := side / half / l
		wedge = []Point{b, p, {b.X + mx*k, b.Y + my*k}, q}
	}
	add(wedge)
}

func area(p []Point) float64 {
	s := 0.0
	for i, a := range p {
		b := p[(i+1)%len(p)]
		s += a.X*b.Y - a.Y*b.X
	}
	return s
}

// distinct drops points that repeat the one before.
func distinct(ch []Point, closed bool) []Point {
	var out []Point
	for _, q := range ch {
		if len(out) == 0 || math.Hypot(q.X-out[len(out)-1].X, q.Y-out[len(out)-1].Y) > 1e-9 {
			out = append(out, q)
		}
	}
	if closed && len(out) > 1 && math.Hypot(out[0].X-out[len(out)-1].X, out[0].Y-out[len(out)-1].Y) <= 1e-9 {
		out = out[:len(out)-1]
	}
	return out
}

// dashes cuts chains into dashes.
func dashes(chains [][]Point, closed []bool, pattern []float64, scale float64) ([][]Point, []bool) {
	total := 0.0
	for _, v := range pattern {
		total += v
	}
	if total <= 0 {
		return chains, closed
	}
	if len(pattern)%2 == 1 {
		pattern = append(append([]float64{}, pattern...), pattern...)
	}
	var out [][]Point
	for i, ch := range chains {
		if closed[i] {
			ch = append(append([]Point{}, ch...), ch[0])
		}
		k, left := 0, pattern[0]*scale
		cur := []Point{ch[0]}
		for j := 1; j < len(ch); j++ {
			a, b := ch[j-1], ch[j]
			l := math.Hypot(b.X-a.X, b.Y-a.Y)
			at := 0.0
			for l-at > left {
				at += left
				p := Point{a.X + (b.X-a.X)*at/l, a.Y + (b.Y-a.Y)*at/l}
				if k%2 == 0 {
					out = append(out, append(cur, p))
				}
				cur = []Point{p}
				k = (k + 1) % len(pattern)
				left = math.Max(pattern[k]*scale, 1e-6)
			}
			left -= l - at
			cur = append(cur, b)
		}
		if k%2 == 0 && len(cur) > 1 {
			out = append(out, cur)
		}
	}
	return out, make([]bool, len(out))
}
