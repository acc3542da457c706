package engrave

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"gradatim/internal/engrave/vector"
)

// arrangeRows sets what stands above the first staff of a system in rows.
//
// Problem: the library makes room for signs where it has put them itself; the
// fingerings have been moved since, it sets a tempo mark without regard to
// them, and it puts two symbols of one moment on one place. From the staff
// outwards come fingerings, then octave lines, then words, each moved up no further than it must, then
// all chord symbols of the system in one row with rehearsal marks beside or over
// them, and the tempo on top. Below the last staff the pedal lines make way for
// fingerings. The library leaves room above the staff that nothing needs: symbols,
// rehearsal marks and the tempo come down as far as they can; nothing else is moved nearer
// to the staff, and what the library put below or between staves stays. The room is reserved by itself: systems are put on the
// page by their ink. Boxes are compared pair by pair, within a system.
// Rejected: larger margins in the library, which hold for every system alike
// and still do not see a moved fingering.
func arrangeRows(system *vector.Group) {
	r := &rows{}
	r.top, r.bottom = edges(system)
	r.left, r.right = sides(system)
	r.collect(system)
	r.solid = slices.Concat(r.solid, slurs(system), arcs(system, "tie"))
	r.spread()
	for _, o := range r.octaves { // over the fingers, which the library did not see there
		r.raise(o)
		r.solid = append(r.solid, o.box)
	}
	slices.SortStableFunc(r.marks, func(a, b *placed) int { return cmp.Compare(b.box.Y1, a.box.Y1) })
	for _, m := range r.marks {
		r.raise(m)
		r.solid = append(r.solid, m.box)
	}
	r.line()
	r.bracket()
	r.pedals()
	r.crown()
}

// crown sets rehearsal marks and the tempo by the row of symbols.
func (r *rows) crown() {
	var symbols []vector.Rect
	for _, s := range r.symbols {
		symbols = append(symbols, s.box)
	}
	slices.SortStableFunc(r.rehearsals, func(a, b *placed) int { return cmp.Compare(b.box.Y1, a.box.Y1) })
	for _, m := range r.rehearsals {
		r.lower(m)
		r.raise(m)
		// A mark that touches a symbol stands to the left of it, as its bar does,
		// or over it where it would leave the system.
		for _, b := range symbols {
			if touches(m.box, b, symbolFree) && b.X0-1.01*symbolFree-m.box.W() >= r.left {
				m.shift(b.X0-1.01*symbolFree-m.box.X1, 0)
			}
		}
		if m.box.X0 < r.left {
			m.shift(r.left-m.box.X0, 0)
		}
		r.solid = append(r.solid, symbols...)
		r.raise(m)
		for _, b := range symbols { // seen apart at a music stand
			if dy := m.box.Y1 - (b.Y0 - symbolFree); dy > 0 && touches(m.box, b, symbolFree) {
				m.shift(0, -dy)
			}
		}
		r.solid = append(r.solid[:len(r.solid)-len(symbols)], m.box)
	}
	r.solid = append(r.solid, symbols...)
	for _, m := range r.tempos {
		r.lower(m)
		for _, b := range r.rehearsals { // beside a mark that begins the system
			if dx := b.box.X1 + space - m.box.X0; dx > 0 && b.box.X0 < m.box.X1 && m.box.X1+dx < r.right {
				m.shift(dx, 0)
			}
		}
		for _, b := range symbols { // over the whole row
			if dy := m.box.Y1 - (b.Y0 - rowFree); dy > 0 {
				m.shift(0, -dy)
			}
		}
		if dy := r.lift(m.box, symbolFree); dy > 0 {
			m.shift(0, -dy)
		}
		r.solid = append(r.solid, m.box)
	}
}

// Least distances: between neighbours in a row, and of chord symbols to what
// stands below or beside them.
const (
	rowFree    = space / 2
	symbolFree = 0.85 * space
)

// placed is a group that may be moved, and its box in the system.
type placed struct {
	group *vector.Group
	box   vector.Rect
	base  float64 // of a chord symbol: its base line
}

func (p *placed) shift(dx, dy float64) {
	p.group.At = vector.Translate(dx, dy).Mul(p.group.Matrix())
	p.box.X0, p.box.X1 = p.box.X0+dx, p.box.X1+dx
	p.box = shifted(p.box, dy)
	p.base += dy
}

type rows struct {
	top        float64 // of the first staff
	bottom     float64 // of the last
	left       float64 // of the staves
	right      float64
	solid      []vector.Rect
	marks      []*placed // words
	octaves    []*placed // 8va lines
	tempos     []*placed
	rehearsals []*placed
	symbols    []*placed
	pedal      []*placed // below the last staff
	endings    []*placed // brackets of first and second endings
}

// collect finds what stands above the first staff, and all that may be in its
// way.
func (r *rows) collect(system *vector.Group) {
	vector.Walk(system, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
		g, ok := n.(*vector.Group)
		if !ok {
			return true
		}
		kind, _, _ := strings.Cut(g.Class, " ")
		switch kind {
		case "harm", "tempo", "dir", "reh", "repeatMark":
			p := &placed{group: g, box: g.Bounds(m)}
			if p.box.Empty() || !inRows(p.box, r.top) {
				return false
			}
			switch kind {
			case "harm":
				p.base = p.box.Y1
				for _, k := range g.Kids {
					if t, ok := k.(*vector.Text); ok {
						p.base = m.Mul(g.Matrix()).On(vector.Point{X: t.X, Y: t.Y}).Y
					}
				}
				r.symbols = append(r.symbols, p)
			case "reh", "repeatMark": // a coda sign is read beside the symbol, not through it
				r.rehearsals = append(r.rehearsals, p)
			case "tempo":
				r.tempos = append(r.tempos, p)
			default:
				r.marks = append(r.marks, p)
			}
			return false
		case "octave":
			if p := (&placed{group: g, box: g.Bounds(m)}); !p.box.Empty() && inRows(p.box, r.top) {
				r.octaves = append(r.octaves, p)
			} else {
				r.block(p.box)
			}
			return false
		case "ending":
			if p := (&placed{group: g, box: g.Bounds(m)}); !p.box.Empty() {
				r.endings = append(r.endings, p)
			}
			return false
		case "pedal":
			if p := (&placed{group: g, box: g.Bounds(m)}); !p.box.Empty() && underRows(p.box, r.bottom) {
				r.pedal = append(r.pedal, p)
			}
			return false
		case "beam":
			for _, k := range g.Kids {
				if s, ok := k.(*vector.Shape); ok {
					r.block(m.Mul(g.Matrix()).Box(s.Path.Bounds()))
				}
			}
		case "notehead", "stem", "accid", "flag", "dots", "artic", "fermata", "mordent", "turn", "trill", "rest",
			"arpeg", "clef", "tupletNum", "tupletBracket", "fing":
			r.block(g.Bounds(m))
			return false
		case "mNum": // nothing beside it, which would be read with it
			b := g.Bounds(m)
			if !b.Empty() {
				b.X1 += space
				b.Y0 -= space / 4
			}
			r.block(b)
			return false
		}
		return true
	})
}

func (r *rows) block(b vector.Rect) {
	if !b.Empty() {
		r.solid = append(r.solid, b)
	}
}

// spread moves chord symbols that overlap the one before to the right of it.
func (r *rows) spread() {
	for i, s := range r.symbols {
		for _, b := range r.symbols[:i] {
			if touches(s.box, b.box, 0) {
				s.shift(b.box.X1+rowFree-s.box.X0, 0)
			}
		}
	}
}

// lift returns how far a box must rise to come free of everything solid.
func (r *rows) lift(box vector.Rect, free float64) float64 {
	start := box.Y0
	for moved := true; moved; {
		moved = false
		for _, s := range r.solid {
			if touches(box, s, 0.99*free) {
				box = shifted(box, s.Y0-free-box.Y1)
				moved = true
			}
		}
	}
	return start - box.Y0
}

// lower brings a box down to the first staff, from where it is raised.
func (r *rows) lower(p *placed) {
	if dy := r.top - rowFree - p.box.Y1; dy > 0 {
		p.shift(0, dy)
	}
}

func (r *rows) raise(p *placed) {
	if dy := r.lift(p.box, fingerFree); dy > 0 {
		p.shift(0, -dy)
	}
}

// bracket sets the brackets of endings in one row over the chord symbols.
func (r *rows) bracket() {
	if len(r.endings) == 0 {
		return
	}
	n := len(r.solid)
	for _, s := range r.symbols {
		r.solid = append(r.solid, s.box)
	}
	low := math.Inf(1)
	for _, e := range r.endings {
		r.lower(e)
		r.raise(e)
		low = min(low, e.box.Y1)
	}
	r.solid = r.solid[:n]
	for _, e := range r.endings {
		e.shift(0, low-e.box.Y1)
		r.solid = append(r.solid, e.box)
	}
}

// pedals moves the pedal lines below the last staff down together, under what
// stands there.
func (r *rows) pedals() {
	dy := 0.0
	for moved := true; moved; {
		moved = false
		for _, p := range r.pedal {
			box := shifted(p.box, dy)
			for _, s := range r.solid {
				if touches(box, s, 0.99*fingerFree) {
					dy += s.Y1 + fingerFree - box.Y0
					box = shifted(p.box, dy)
					moved = true
				}
			}
		}
	}
	for _, p := range r.pedal {
		p.shift(0, dy)
	}
}

// line sets the chord symbols on one base line, above all that stands below
// them.
func (r *rows) line() {
	base := math.Inf(1)
	for _, s := range r.symbols {
		base = min(base, s.base)
	}
	low := math.Inf(-1)
	for _, s := range r.symbols {
		s.shift(0, base-s.base)
		low = max(low, s.box.Y1)
	}
	if dy := r.top - symbolFree - low; dy > 0 && len(r.symbols) > 0 { // down to the staff, and up from there
		for _, s := range r.symbols {
			s.shift(0, dy)
		}
	}
	for {
		dy := 0.0
		for _, s := range r.symbols {
			dy = max(dy, r.lift(s.box, symbolFree))
		}
		if dy <= 0 {
			return
		}
		for _, s := range r.symbols {
			s.shift(0, -dy)
		}
	}
}
