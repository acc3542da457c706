// Package vector holds pages as drawings: outlines, lines and text in
// millimetres. It reads the engraver's SVG, and writes SVG, PDF and PNG that
// look alike: every letter and every sign is drawn from outlines that the
// program carries, so nothing depends on the fonts of a machine, and text is
// there a second time, unseen, for search, selection and screen readers.
//
// A drawing is built once and then only read; many goroutines may read it.
package vector

import "fmt"

// Drawing is one page or picture.
type Drawing struct {
	W, H        float64 // mm
	Title       string  // for screen readers and for the title of a window
	Description string
	Lang        string // of the texts, such as "en"; may be empty
	Root        Group
}

// Node is a part of a drawing: *Group, *Shape, *Symbol or *Text.
type Node interface{ node() }

// Group is a list of parts with a name. Parts are drawn in order.
type Group struct {
	ID    string // unique in the drawing; may be empty
	Class string // words, for who styles or looks parts up
	At    Matrix // the zero value stands for Identity
	Tag   *Tag   // for PDF, in the groups right under a drawing's Root; may be nil
	Kids  []Node
}

// Matrix returns the group's matrix.
func (g *Group) Matrix() Matrix {
	if g.At == (Matrix{}) {
		return Identity
	}
	return g.At
}

// Add appends parts.
func (g *Group) Add(n ...Node) { g.Kids = append(g.Kids, n...) }

// Paint is a colour, opaque. The zero value paints nothing.
type Paint struct {
	On      bool
	Ink     bool // the colour of the ink: black, or what the reader's style says
	R, G, B uint8
}

// Ink is the colour of the notes.
var Ink = Paint{On: true, Ink: true}

// RGB is a fixed colour.
func RGB(r, g, b uint8) Paint { return Paint{On: true, R: r, G: g, B: b} }

// Cap is the end of a line.
type Cap uint8

// Line ends.
const (
	Butt Cap = iota
	RoundCap
	SquareCap
)

// Join is the corner of a line.
type Join uint8

// Corners.
const (
	Miter Join = iota
	RoundJoin
	BevelJoin
)

// Shape is a path with a fill, a line or both.
type Shape struct {
	Path   *Path
	Fill   Paint
	Stroke Paint
	Width  float64 // of the line
	Cap    Cap
	Join   Join
	Dash   []float64 // lengths of dashes and gaps; nil: a whole line
}

// Glyph is an outline with a name that is drawn in many places.
type Glyph struct {
	Name    string // unique among the glyphs of a drawing
	Path    *Path  // in units of its font, y down
	Advance float64
	bounds  Rect
}

// NewGlyph makes a glyph.
func NewGlyph(name string, p *Path, advance float64) *Glyph {
	return &Glyph{Name: name, Path: p, Advance: advance, bounds: p.Bounds()}
}

// Bounds is the box around the glyph.
func (g *Glyph) Bounds() Rect { return g.bounds }

// Symbol is a glyph in a place.
type Symbol struct {
	Glyph *Glyph
	At    Matrix
	Fill  Paint
}

// Anchor says which point of a text is at its place.
type Anchor uint8

// Anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of text.
type Text struct {
	X, Y   float64 // the anchor, on the baseline
	Anchor Anchor
	Spans  []Span
	// Plain is what is searched, copied and read aloud; empty: the text of
	// the spans.
	Plain string
	// Outlined asks for outlines even where a format could show the letters
	// themselves: for texts of several sizes that belong together as a word.
	Outlined bool
	// Leads is the page, counted from 1, that a press on the text opens in a PDF file;
	// 0: none.
	Leads int
}

// Span is a part of a text in one style.
type Span struct {
	Text  string
	Size  float64 // of the em
	Rise  float64 // above the baseline
	Face  Face
	Music *Music // when set, Text is drawn from this font
	Fill  Paint
	Space float64 // added after every letter
}

func (*Group) node()  {}
func (*Shape) node()  {}
func (*Symbol) node() {}
func (*Text) node()   {}

// Walk calls f for every part in drawing order, a group before its parts, with
// the matrix that maps its coordinates to the drawing's. When f returns false
// for a group, its parts are left out.
func Walk(g *Group, m Matrix, f func(n Node, m Matrix) bool) {
	if !f(g, m) {
		return
	}
	m = m.Mul(g.Matrix())
	for _, k := range g.Kids {
		if sub, ok := k.(*Group); ok {
			Walk(sub, m, f)
		} else {
			f(k, m)
		}
	}
}

// Bounds returns the box around everything that the group draws, mapped by m.
func (g *Group) Bounds(m Matrix) Rect {
	r := EmptyRect()
	Walk(g, m, func(n Node, m Matrix) bool {
		r = r.Union(nodeBounds(n, m))
		return true
	})
	return r
}

func nodeBounds(n Node, m Matrix) Rect {
	switch n := n.(type) {
	case *Group:
		return EmptyRect()
	case *Shape:
		r := m.Box(n.Path.Bounds())
		if n.Stroke.On && !r.Empty() {
			r = r.Grow(n.Width / 2 * m.Size())
		}
		return r
	case *Symbol:
		return m.Mul(n.At).Box(n.Glyph.bounds)
	case *Text:
		return n.Bounds(m)
	default:
		panic(fmt.Sprintf("vector: unexpected part %T", n))
	}
}
