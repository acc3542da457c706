package vector

import (
	"fmt"
	"html"
	"io"
	"regexp"
	"strconv"
	"strings"

	"github.com/tdewolff/parse/v2"
	"github.com/tdewolff/parse/v2/xml"
)

// ReadSVG reads a page that the engraver wrote, in its own units (the inner
// viewBox), and returns its groups. It knows the part of SVG that the engraver
// uses; anything else is an error, so that a new release of the engraver
// cannot lose a sign in silence. music maps names of music fonts to fonts.
func ReadSVG(svg string, music map[string]*Music) (*Group, error) {
	root, err := parseXML(svg)
	if err != nil {
		return nil, err
	}
	r := &svgReader{music: music, glyphs: map[string]*Glyph{}}
	inner, err := r.prepare(root)
	if err != nil {
		return nil, err
	}
	if inner == nil {
		return nil, fmt.Errorf("svg: no page in it")
	}
	g := &Group{}
	if err := r.kids(inner, r.style(inner, svgStyle{fill: Ink, width: 1}), g); err != nil {
		return nil, err
	}
	return g, nil
}

type element struct {
	name string
	attr []attribute
	kids []*element
	text string // of a text node, whose name is empty
}

type attribute struct{ name, value string }

func (e *element) get(name string) string {
	for _, a := range e.attr {
		if a.name == name {
			return a.value
		}
	}
	return ""
}

func (e *element) has(name string) bool {
	for _, a := range e.attr {
		if a.name == name {
			return true
		}
	}
	return false
}

func (e *element) num(name string) float64 {
	v, _ := strconv.ParseFloat(strings.TrimSuffix(e.get(name), "px"), 64)
	return v
}

func parseXML(s string) (*element, error) {
	l := xml.NewLexer(parse.NewInputString(s))
	root := &element{}
	stack := []*element{root}
	for {
		tt, data := l.Next()
		top := stack[len(stack)-1]
		switch tt {
		case xml.ErrorToken:
			if err := l.Err(); err != io.EOF {
				return nil, fmt.Errorf("svg: %w", err)
			}
			if len(stack) != 1 {
				return nil, fmt.Errorf("svg: <%s> is not closed", top.name)
			}
			return root, nil
		case xml.StartTagToken:
			e := &element{name: string(l.Text())}
			top.kids = append(top.kids, e)
			stack = append(stack, e)
		case xml.AttributeToken:
			v := strings.Trim(string(l.AttrVal()), `"'`)
			if strings.IndexByte(v, '&') >= 0 {
				v = html.UnescapeString(v)
			}
			name := string(l.Text())
			if i := strings.IndexByte(name, ':'); i >= 0 {
				name = name[i+1:]
			}
			top.attr = append(top.attr, attribute{name, v})
		case xml.StartTagCloseVoidToken, xml.EndTagToken:
			if len(stack) == 1 {
				return nil, fmt.Errorf("svg: an end without a start")
			}
			stack = stack[:len(stack)-1]
		case xml.TextToken, xml.CDATAToken:
			t := string(data)
			if top.name == "tspan" || top.name == "text" || top.name == "style" {
				if strings.TrimSpace(t) != "" || !strings.Contains(t, "\n") {
					top.kids = append(top.kids, &element{text: html.UnescapeString(t)})
				}
			}
		}
	}
}

// svgStyle is what a part inherits.
type svgStyle struct {
	fill, stroke Paint
	noFill       bool // fill-opacity 0
	width        float64
	cap          Cap
	join         Join
	dash         []float64
	font         string
	bold, italic bool
	size, space  float64
	anchor       Anchor
}

type svgReader struct {
	music  map[string]*Music
	glyphs map[string]*Glyph
	rules  []cssRule
}

// cssRule gives declarations to elements of a class.
type cssRule struct {
	class        string
	bold, italic int // 1 set, -1 unset, 0 leave
}

var (
	reRule  = regexp.MustCompile(`([^{}]+)\{([^{}]*)\}`)
	reClass = regexp.MustCompile(`^#\S+ g\.(\w+)$`)
)

// prepare collects glyphs and style rules and finds the page.
func (r *svgReader) prepare(e *element) (page *element, err error) {
	switch {
	case e.name == "defs":
		for _, k := range e.kids {
			if err := r.define(k); err != nil {
				return nil, err
			}
		}
		return nil, nil
	case e.name == "style":
		for _, k := range e.kids {
			r.sheet(k.text)
		}
		return nil, nil
	case e.name == "svg" && e.get("class") == "definition-scale":
		return e, nil
	}
	for _, k := range e.kids {
		p, err := r.prepare(k)
		if err != nil {
			return nil, err
		}
		if p != nil {
			page = p
		}
	}
	return page, nil
}

// define reads <g id="E0A4-…"><path transform="scale(1,-1)" d="…"/></g>.
func (r *svgReader) define(e *element) error {
	id := e.get("id")
	name, _, _ := strings.Cut(id, "-")
	p := &Path{}
	for _, k := range e.kids {
		if k.name != "path" {
			return fmt.Errorf("svg: glyph %s has <%s>", id, k.name)
		}
		q, err := ParsePath(k.get("d"))
		if err != nil {
			return err
		}
		m, err := parseTransform(k.get("transform"))
		if err != nil {
			return err
		}
		p.Append(q.Transform(m))
	}
	r.glyphs[id] = NewGlyph(name, p, 0)
	return nil
}

// sheet reads the weights and slants of the style sheet. Its rule that all
// outlines have a line of the default width (a hundredth of a millimetre) is
// left out.
func (r *svgReader) sheet(css string) {
	for _, m := range reRule.FindAllStringSubmatch(css, -1) {
		rule := cssRule{}
		for d := range strings.SplitSeq(m[2], ";") {
			k, v, _ := strings.Cut(d, ":")
			switch strings.TrimSpace(k) {
			case "font-weight":
				rule.bold = map[string]int{"bold": 1, "normal": -1}[strings.TrimSpace(v)]
			case "font-style":
				rule.italic = map[string]int{"italic": 1, "normal": -1}[strings.TrimSpace(v)]
			}
		}
		if rule == (cssRule{}) {
			continue
		}
		for sel := range strings.SplitSeq(m[1], ",") {
			if c := reClass.FindStringSubmatch(strings.TrimSpace(sel)); c != nil {
				rule.class = c[1]
				r.rules = append(r.rules, rule)
			}
		}
	}
}

// style applies an element's attributes, then the style sheet.
func (r *svgReader) style(e *element, s svgStyle) svgStyle {
	for _, a := range e.attr {
		switch v := a.value; a.name {
		case "fill":
			s.fill = parsePaint(v)
		case "color":
			if v != "black" {
				s.fill = parsePaint(v)
			}
		case "stroke":
			s.stroke = parsePaint(v)
		case "fill-opacity":
			s.noFill = e.num(a.name) == 0
		case "stroke-width":
			s.width, s.stroke = e.num(a.name), s.fill
			if !s.stroke.On {
				s.stroke = Ink
			}
		case "stroke-linecap":
			s.cap = map[string]Cap{"round": RoundCap, "square": SquareCap}[v]
		case "stroke-linejoin":
			s.join = map[string]Join{"round": RoundJoin, "bevel": BevelJoin}[v]
		case "stroke-dasharray":
			s.dash = numbers(v)
		case "font-family":
			s.font = strings.TrimSpace(strings.Split(v, ",")[0])
		case "font-weight":
			s.bold = v == "bold"
		case "font-style":
			s.italic = v == "italic" || v == "oblique"
		case "font-size":
			s.size = e.num(a.name)
		case "letter-spacing":
			s.space = e.num(a.name)
		case "text-anchor":
			s.anchor = map[string]Anchor{"middle": Middle, "end": End}[v]
		}
	}
	if e.name == "g" {
		for c := range strings.FieldsSeq(e.get("class")) {
			for _, rule := range r.rules {
				if rule.class == c {
					s.bold = rule.bold > 0 || rule.bold == 0 && s.bold
					s.italic = rule.italic > 0 || rule.italic == 0 && s.italic
				}
			}
		}
	}
	return s
}

func (r *svgReader) kids(e *element, s svgStyle, into *Group) error {
	for _, k := range e.kids {
		if err := r.read(k, s, into); err != nil {
			return err
		}
	}
	return nil
}

func (r *svgReader) read(e *element, s svgStyle, into *Group) error {
	if e.get("visibility") == "hidden" || e.name == "title" || e.name == "desc" || e.name == "" {
		return nil
	}
	s = r.style(e, s)
	m, err := parseTransform(e.get("transform"))
	if err != nil {
		return err
	}
	shape := func(p *Path) {
		if m != Identity {
			p = p.Transform(m)
		}
		sh := &Shape{Path: p, Fill: s.fill, Stroke: s.stroke, Width: s.width, Cap: s.cap, Join: s.join, Dash: s.dash}
		if s.noFill || len(p.pts) <= 2 { // a line has no area
			sh.Fill = Paint{}
		}
		if s.width == 0 {
			sh.Stroke = Paint{}
		}
		into.Add(sh)
	}
	switch e.name {
	case "g", "svg":
		g := &Group{ID: e.get("id"), Class: e.get("class")}
		if m != Identity {
			g.At = m
		}
		into.Add(g)
		return r.kids(e, s, g)
	case "use":
		g := r.glyphs[strings.TrimPrefix(e.get("href"), "#")]
		if g == nil {
			return fmt.Errorf("svg: no glyph %q", e.get("href"))
		}
		into.Add(&Symbol{Glyph: g, At: m.Mul(Translate(e.num("x"), e.num("y"))), Fill: s.fill})
	case "path":
		p, err := ParsePath(e.get("d"))
		if err != nil {
			return fmt.Errorf("svg: %w", err)
		}
		shape(p)
	case "rect":
		p := &Path{}
		p.Rectangle(e.num("x"), e.num("y"), e.num("width"), e.num("height"))
		shape(p)
	case "ellipse", "circle":
		p := &Path{}
		rx, ry := e.num("rx"), e.num("ry")
		if e.name == "circle" {
			rx, ry = e.num("r"), e.num("r")
		}
		p.Ellipse(e.num("cx"), e.num("cy"), rx, ry)
		shape(p)
	case "polygon", "polyline":
		v := numbers(e.get("points"))
		p := &Path{}
		for i := 0; i+1 < len(v); i += 2 {
			if i == 0 {
				p.MoveTo(v[0], v[1])
			} else {
				p.LineTo(v[i], v[i+1])
			}
		}
		if e.name == "polygon" {
			p.Close()
		}
		shape(p)
	case "text":
		if m != Identity {
			return fmt.Errorf("svg: a text with a transform")
		}
		r.text(e, s, into)
	default:
		return fmt.Errorf("svg: unexpected <%s>", e.name)
	}
	return nil
}

// text reads a <text>; a tspan with a place of its own starts another line.
func (r *svgReader) text(e *element, s svgStyle, into *Group) {
	cur := &Text{X: e.num("x"), Y: e.num("y"), Anchor: s.anchor}
	lines := []*Text{cur}
	var walk func(e *element, s svgStyle)
	walk = func(e *element, s svgStyle) {
		if e.name == "" {
			if s.size > 0 {
				face := Regular
				switch {
				case s.bold && s.italic:
					face = BoldItalic
				case s.bold:
					face = Bold
				case s.italic:
					face = Italic
				}
				cur.Spans = append(cur.Spans, Span{Text: e.text, Size: s.size, Face: face,
					Music: r.music[s.font], Fill: s.fill, Space: s.space})
			}
			return
		}
		if e.name == "tspan" {
			s = r.style(e, s)
			if e.has("x") || e.has("y") {
				next := &Text{X: cur.X, Y: cur.Y, Anchor: s.anchor}
				if e.has("x") {
					next.X = e.num("x")
				}
				if e.has("y") {
					next.Y = e.num("y")
				}
				cur = next
				lines = append(lines, cur)
			}
		}
		for _, k := range e.kids {
			walk(k, s)
		}
	}
	walk(e, s)
	for _, t := range lines {
		if len(t.Spans) > 0 {
			into.Add(t)
		}
	}
}

func parsePaint(v string) Paint {
	switch v {
	case "none", "transparent":
		return Paint{}
	}
	if len(v) == 7 && v[0] == '#' {
		if n, err := strconv.ParseUint(v[1:], 16, 32); err == nil {
			if n == 0 {
				return Ink
			}
			return RGB(uint8(n>>16), uint8(n>>8), uint8(n))
		}
	}
	if p, ok := namedPaint[v]; ok {
		return p
	}
	return Ink // black, currentColor and whatever a file may say
}

var namedPaint = map[string]Paint{
	"white": RGB(255, 255, 255), "red": RGB(255, 0, 0), "green": RGB(0, 128, 0), "blue": RGB(0, 0, 255),
	"grey": RGB(128, 128, 128), "gray": RGB(128, 128, 128),
}

var reTransform = regexp.MustCompile(`(\w+)\s*\(([^)]*)\)`)

func parseTransform(s string) (Matrix, error) {
	m := Identity
	if s == "" {
		return m, nil
	}
	for _, t := range reTransform.FindAllStringSubmatch(s, -1) {
		switch v := numbers(t[2]); {
		case t[1] == "translate" && len(v) == 2:
			m = m.Mul(Translate(v[0], v[1]))
		case t[1] == "translate" && len(v) == 1:
			m = m.Mul(Translate(v[0], 0))
		case t[1] == "scale" && len(v) == 2:
			m = m.Mul(Scale(v[0], v[1]))
		case t[1] == "scale" && len(v) == 1:
			m = m.Mul(Scale(v[0], v[0]))
		case t[1] == "rotate" && len(v) == 1:
			m = m.Mul(Rotate(v[0]))
		case t[1] == "rotate" && len(v) == 3:
			m = m.Mul(Translate(v[1], v[2])).Mul(Rotate(v[0])).Mul(Translate(-v[1], -v[2]))
		default:
			return m, fmt.Errorf("svg: unexpected transform %q", s)
		}
	}
	return m, nil
}

// numbers reads numbers between spaces and commas.
func numbers(s string) (out []float64) {
	sc := pathScanner{s: s}
	for {
		sc.space()
		if sc.i == len(sc.s) {
			return out
		}
		v := sc.number()
		if sc.bad {
			return out
		}
		out = append(out, v)
	}
}
