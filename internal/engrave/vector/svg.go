package vector

import (
	"fmt"
	"strconv"
	"strings"
)

// SVGOptions say how a drawing is written as SVG.
type SVGOptions struct {
	// Prefix starts every id that the writer makes up (glyphs, title), so that
	// several drawings can stand in one document. Empty: "v".
	Prefix string
}

// SVG writes the drawing as one self-contained file: no style sheet, no font,
// no link. Units of the viewBox are millimetres. The ink is currentColor,
// black unless the document says otherwise.
func (d *Drawing) SVG(o SVGOptions) []byte {
	if o.Prefix == "" {
		o.Prefix = "v"
	}
	w := &svgWriter{prefix: o.Prefix, defined: map[string]bool{}}
	w.group(&d.Root, Identity)
	body := w.b.String()

	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" color="black"`,
		num(d.W), num(d.H), num(d.W), num(d.H))
	if d.Lang != "" {
		fmt.Fprintf(&b, ` lang="%s" xml:lang="%s"`, escape(d.Lang), escape(d.Lang))
	}
	if d.Title != "" {
		fmt.Fprintf(&b, ` role="graphics-document document" aria-labelledby="%s-title"`, o.Prefix)
		if d.Description != "" {
			fmt.Fprintf(&b, ` aria-describedby="%s-desc"`, o.Prefix)
		}
	}
	b.WriteString(">\n")
	if d.Title != "" {
		fmt.Fprintf(&b, "<title id=\"%s-title\">%s</title>\n", o.Prefix, escape(d.Title))
		if d.Description != "" {
			fmt.Fprintf(&b, "<desc id=\"%s-desc\">%s</desc>\n", o.Prefix, escape(d.Description))
		}
	}
	b.WriteString("<defs>\n")
	for _, g := range w.glyphs {
		fmt.Fprintf(&b, "<path id=\"%s\" d=\"%s\"/>\n", w.glyphID(g), svgPath(g.Path))
	}
	b.WriteString("</defs>\n")
	b.WriteString(body)
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

type svgWriter struct {
	prefix  string
	b       strings.Builder
	glyphs  []*Glyph
	defined map[string]bool
}

func (w *svgWriter) glyphID(g *Glyph) string { return w.prefix + "-" + g.Name }

func (w *svgWriter) group(g *Group, m Matrix) {
	// m is the matrix from here to the drawing: text sizes need it.
	m = m.Mul(g.Matrix())
	w.b.WriteString("<g")
	if g.ID != "" {
		fmt.Fprintf(&w.b, ` id="%s"`, escape(g.ID))
	}
	if g.Class != "" {
		fmt.Fprintf(&w.b, ` class="%s"`, escape(g.Class))
	}
	if g.Matrix() != Identity {
		fmt.Fprintf(&w.b, ` transform="%s"`, svgMatrix(g.Matrix()))
	}
	if len(g.Kids) == 0 {
		w.b.WriteString("/>\n")
		return
	}
	w.b.WriteString(">\n")
	for _, k := range g.Kids {
		switch k := k.(type) {
		case *Group:
			w.group(k, m)
		case *Shape:
			w.shape(k)
		case *Symbol:
			fmt.Fprintf(&w.b, "<use href=\"#%s\" transform=\"%s\"", w.use(k.Glyph), svgMatrix(k.At))
			w.fill(k.Fill)
			w.b.WriteString("/>\n")
		case *Text:
			w.text(k)
		default:
			panic(fmt.Sprintf("vector: unexpected part %T", k))
		}
	}
	w.b.WriteString("</g>\n")
}

// use returns the id of a glyph's definition.
func (w *svgWriter) use(g *Glyph) string {
	if !w.defined[g.Name] {
		w.defined[g.Name] = true
		w.glyphs = append(w.glyphs, g)
	}
	return w.glyphID(g)
}

// fill writes the colour; ink by the attribute too, since the document around
// may set another default.
func (w *svgWriter) fill(p Paint) { fmt.Fprintf(&w.b, ` fill="%s"`, svgPaint(p)) }

func (w *svgWriter) shape(s *Shape) {
	fmt.Fprintf(&w.b, `<path d="%s"`, svgPath(s.Path))
	w.fill(s.Fill)
	if s.Stroke.On {
		fmt.Fprintf(&w.b, ` stroke="%s" stroke-width="%s"`, svgPaint(s.Stroke), num(s.Width))
		switch s.Cap {
		case RoundCap:
			w.b.WriteString(` stroke-linecap="round"`)
		case SquareCap:
			w.b.WriteString(` stroke-linecap="square"`)
		}
		switch s.Join {
		case RoundJoin:
			w.b.WriteString(` stroke-linejoin="round"`)
		case BevelJoin:
			w.b.WriteString(` stroke-linejoin="bevel"`)
		}
		for i, v := range s.Dash {
			if i == 0 {
				w.b.WriteString(` stroke-dasharray="`)
			} else {
				w.b.WriteByte(' ')
			}
			w.b.WriteString(num(v))
			if i == len(s.Dash)-1 {
				w.b.WriteByte('"')
			}
		}
	}
	w.b.WriteString("/>\n")
}

// text draws the outlines and lays the letters over them, unseen: painted with
// no opacity, they can be found, selected and read.
func (w *svgWriter) text(t *Text) {
	rs, width := t.runs()
	x := t.left(width)
	for _, r := range rs {
		for _, k := range r.marks {
			if k.glyph.Path.Empty() {
				continue
			}
			fmt.Fprintf(&w.b, `<use href="#%s" transform="%s"`, w.use(k.glyph), svgMatrix(k.at(x, t.Y)))
			w.fill(k.fill)
			w.b.WriteString("/>\n")
		}
	}
	s := strings.TrimSpace(t.String())
	if s == "" {
		return
	}
	size := 0.0
	for _, r := range rs {
		if size = max(size, r.size); r.native { // a music font's em is larger than its letters
			size = r.size
			break
		}
	}
	fmt.Fprintf(&w.b, `<text x="%s" y="%s" font-family="serif" font-size="%s" fill-opacity="0"`, num(x), num(t.Y), num(size))
	if width > 0 {
		fmt.Fprintf(&w.b, ` textLength="%s" lengthAdjust="spacingAndGlyphs"`, num(width))
	}
	fmt.Fprintf(&w.b, ">%s</text>\n", escape(s))
}

func svgPaint(p Paint) string {
	switch {
	case !p.On:
		return "none"
	case p.Ink:
		return "currentColor"
	}
	return fmt.Sprintf("#%02x%02x%02x", p.R, p.G, p.B)
}

func svgMatrix(m Matrix) string {
	if m.A == 1 && m.B == 0 && m.C == 0 && m.D == 1 {
		return "translate(" + num(m.E) + " " + num(m.F) + ")"
	}
	if m.B == 0 && m.C == 0 {
		s := "translate(" + num(m.E) + " " + num(m.F) + ") scale(" + fine(m.A)
		if m.D != m.A {
			s += " " + fine(m.D)
		}
		return s + ")"
	}
	return fmt.Sprintf("matrix(%s %s %s %s %s %s)", fine(m.A), fine(m.B), fine(m.C), fine(m.D), num(m.E), num(m.F))
}

// svgPath writes path data with absolute coordinates.
func svgPath(p *Path) string {
	var b strings.Builder
	p.each(func(o op, _ Point, pts []Point) {
		switch o {
		case opMove:
			b.WriteByte('M')
		case opLine:
			b.WriteByte('L')
		case opCubic:
			b.WriteByte('C')
		case opClose:
			b.WriteByte('Z')
			return
		}
		for i, q := range pts {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(num(q.X))
			b.WriteByte(' ')
			b.WriteString(num(q.Y))
		}
	})
	return b.String()
}

// num writes a coordinate with at most three decimals, fine a factor with at
// most six.
func num(v float64) string  { return trimmed(v, 3) }
func fine(v float64) string { return trimmed(v, 6) }

func trimmed(v float64, digits int) string {
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.IndexByte(s, '.') >= 0 {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")

// escape writes text for XML; characters that XML does not know become
// U+FFFD.
func escape(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xFFFE || r == 0xFFFF {
			return '\uFFFD'
		}
		return r
	}, s)
	return escaper.Replace(s)
}
