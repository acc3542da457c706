package vector

import "strings"

// mark is one letter in its place: dx from the start of the text, in the
// text's units.
type mark struct {
	glyph *Glyph
	dx    float64
	scale float64 // from font units
	rise  float64
	fill  Paint
}

// run is a stretch of letters of one font and style.
type run struct {
	text   string
	face   Face
	native bool // the text font has all of it
	dx, w  float64
	size   float64
	rise   float64
	fill   Paint
	marks  []mark
}

// runs sets the text: letter after letter by their widths, without kerning,
// since the engraver reckons so.
func (t *Text) runs() (rs []run, width float64) {
	x := 0.0
	for _, s := range t.Spans {
		for _, r := range s.Text {
			var g *Glyph
			var k float64
			native := false
			if s.Music != nil {
				if g = s.Music.Glyph(r); g != nil {
					k = s.Size / s.Music.upem
				}
			} else if f, fg := find(r, s.Face); fg != nil {
				g, k, native = fg, s.Size/f.upem, f == fonts[s.Face]
			}
			n := len(rs) - 1
			if n < 0 || rs[n].native != native || rs[n].face != s.Face || rs[n].size != s.Size ||
				rs[n].rise != s.Rise || rs[n].fill != s.Fill || s.Space != 0 {
				rs = append(rs, run{face: s.Face, native: native, dx: x, size: s.Size, rise: s.Rise, fill: s.Fill})
				n++
			}
			if s.Music != nil {
				rs[n].text += plainMusic[r]
			} else {
				rs[n].text += string(r)
			}
			if g == nil { // nothing to draw: leave the width of a letter
				x += s.Size / 2
			} else {
				rs[n].marks = append(rs[n].marks, mark{g, x, k, s.Rise, s.Fill})
				x += g.Advance * k
			}
			rs[n].w = x - rs[n].dx
			x += s.Space
		}
	}
	return rs, x
}

// Width returns the length of the text.
func (t *Text) Width() float64 { _, w := t.runs(); return w }

// left returns where the text of that width starts.
func (t *Text) left(width float64) float64 {
	switch t.Anchor {
	case Middle:
		return t.X - width/2
	case End:
		return t.X - width
	}
	return t.X
}

// String returns the text as it is searched and read.
func (t *Text) String() string {
	if t.Plain != "" {
		return t.Plain
	}
	var b strings.Builder
	for _, s := range t.Spans {
		if s.Music == nil {
			b.WriteString(strings.ReplaceAll(s.Text, "\u00a0", " "))
			continue
		}
		for _, r := range s.Text {
			b.WriteString(plainMusic[r])
		}
	}
	return b.String()
}

// Bounds returns the box around the letters' ink, mapped by m.
func (t *Text) Bounds(m Matrix) Rect {
	rs, w := t.runs()
	x := t.left(w)
	out := EmptyRect()
	for _, r := range rs {
		for _, k := range r.marks {
			out = out.Union(k.at(x, t.Y).Box(k.glyph.bounds))
		}
	}
	return m.Box(out)
}

// at maps the letter's outline to the text's coordinates.
func (k mark) at(x, y float64) Matrix {
	return Matrix{k.scale, 0, 0, k.scale, x + k.dx, y - k.rise}
}
