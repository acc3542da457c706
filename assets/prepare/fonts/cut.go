package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"unicode/utf16"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// cut writes a small TrueType font with some characters of another font, under a
// name of its own.
//
// Problem: a font of mathematics has the signs, and weighs eight hundred
// kilobytes. Source: OpenType 1.9, the chapters of the tables written here.
// Outlines are read by x/image/font/sfnt, which hides whether they were cubic or
// quadratic, and written as quadratic ones, halved until they lie within half a
// unit of the cubics. Hints and kerning are left out: signs stand alone.
// Rejected: copying the font's own outlines, which takes an interpreter of its
// charstrings with their subroutines; a package of symbols, seventy kilobytes for
// five signs and in another hand.
func cut(ttf []byte, name, copyright, chars string) ([]byte, error) {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, err
	}
	runes := []rune(chars)
	slices.Sort(runes)
	runes = slices.Compact(runes)
	var b sfnt.Buffer
	unit := fixed.I(int(f.UnitsPerEm()))                  // so that coordinates are font units
	glyphs := []glyph{{advance: int(f.UnitsPerEm()) / 2}} // .notdef, without ink
	for _, r := range runes {
		i, err := f.GlyphIndex(&b, r)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			return nil, fmt.Errorf("the font has no %q", r)
		}
		segments, err := f.LoadGlyph(&b, i, unit, nil)
		if err != nil {
			return nil, fmt.Errorf("%q: %w", r, err)
		}
		g := outline(segments)
		a, err := f.GlyphAdvance(&b, i, unit, font.HintingNone)
		if err != nil {
			return nil, err
		}
		g.advance = a.Round()
		glyphs = append(glyphs, g)
	}
	m, err := f.Metrics(&b, unit, font.HintingNone)
	if err != nil {
		return nil, err
	}
	return build(name, copyright, int(f.UnitsPerEm()), m.Ascent.Round(), m.Descent.Round(), runes, glyphs), nil
}

// point is a point of a contour in font units, y upwards; off the curve it
// controls it.
type point struct {
	x, y int
	on   bool
}

type glyph struct {
	contours [][]point
	advance  int
}

type vec struct{ x, y float64 }

func mid(a, b vec) vec { return vec{(a.x + b.x) / 2, (a.y + b.y) / 2} }

// outline turns segments into contours.
func outline(segments sfnt.Segments) glyph {
	var g glyph
	var at vec
	var c []point
	add := func(v vec, on bool) { c = append(c, point{int(math.Round(v.x)), int(math.Round(v.y)), on}) }
	end := func() {
		// The last point is the first again.
		if n := len(c); n > 1 && c[0] == c[n-1] {
			c = c[:n-1]
		}
		if len(c) > 2 {
			g.contours = append(g.contours, c)
		}
		c = nil
	}
	for _, s := range segments {
		var p [3]vec
		for i, a := range s.Args {
			p[i] = vec{float64(a.X) / 64, -float64(a.Y) / 64}
		}
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			end()
			add(p[0], true)
			at = p[0]
		case sfnt.SegmentOpLineTo:
			add(p[0], true)
			at = p[0]
		case sfnt.SegmentOpQuadTo:
			add(p[0], false)
			add(p[1], true)
			at = p[1]
		case sfnt.SegmentOpCubeTo:
			for _, q := range quadratics(at, p[0], p[1], p[2], 8) {
				add(q[0], false)
				add(q[1], true)
			}
			at = p[2]
		default:
			panic(fmt.Sprintf("segment %d", s.Op))
		}
	}
	end()
	return g
}

// quadratics approximates a cubic by control and end points of quadratic curves.
// One alone strays from it by at most √3/36 of its third difference.
func quadratics(a, b, c, d vec, deep int) [][2]vec {
	off := math.Hypot(d.x-3*c.x+3*b.x-a.x, d.y-3*c.y+3*b.y-a.y) * math.Sqrt(3) / 36
	if off <= 0.5 || deep == 0 {
		return [][2]vec{{{(3*(b.x+c.x) - a.x - d.x) / 4, (3*(b.y+c.y) - a.y - d.y) / 4}, d}}
	}
	ab, bc, cd := mid(a, b), mid(b, c), mid(c, d)
	abc, bcd := mid(ab, bc), mid(bc, cd)
	m := mid(abc, bcd)
	return append(quadratics(a, ab, abc, m, deep-1), quadratics(m, bcd, cd, d, deep-1)...)
}

// box is the smallest box around some glyphs.
type box struct{ x0, y0, x1, y1 int }

func boxOf(gs ...glyph) box {
	var b box
	first := true
	for _, g := range gs {
		for _, c := range g.contours {
			for _, p := range c {
				if first {
					b, first = box{p.x, p.y, p.x, p.y}, false
				}
				b = box{min(b.x0, p.x), min(b.y0, p.y), max(b.x1, p.x), max(b.y1, p.y)}
			}
		}
	}
	return b
}

// table collects the numbers of one table, big-endian.
type table struct{ bytes.Buffer }

func (t *table) u16(vs ...int) {
	for _, v := range vs {
		t.Write(binary.BigEndian.AppendUint16(nil, uint16(v)))
	}
}

func (t *table) u32(vs ...int) {
	for _, v := range vs {
		t.Write(binary.BigEndian.AppendUint32(nil, uint32(v)))
	}
}

func (t *table) box(b box) { t.u16(b.x0, b.y0, b.x1, b.y1) }

// build writes the font file: one glyph for each rune, after glyph 0.
func build(name, copyright string, upem, ascent, descent int, runes []rune, glyphs []glyph) []byte {
	all := boxOf(glyphs...)
	var glyf, loca, hmtx, cmap, head, hhea, maxp, os2, post, names table
	points, contours, widest, left, right := 0, 0, 0, 0, 0
	for _, g := range glyphs {
		loca.u32(glyf.Len())
		b := boxOf(g)
		hmtx.u16(g.advance, b.x0)
		widest, left, right = max(widest, g.advance), min(left, b.x0), min(right, g.advance-b.x1)
		contours = max(contours, len(g.contours))
		if len(g.contours) > 0 {
			points = max(points, writeGlyph(&glyf, g, b))
		}
	}
	loca.u32(glyf.Len())

	groups := len(runes)
	cmap.u16(0, 1, 3, 10) // Windows, full Unicode
	cmap.u32(12)
	cmap.u16(12, 0)
	cmap.u32(16+12*groups, 0, groups)
	for i, r := range runes {
		cmap.u32(int(r), int(r), i+1)
	}

	head.u16(1, 0, 1, 0)
	head.u32(0, 0x5F0F3CF5) // the sum of all, set below; the magic number
	head.u16(3, upem)
	head.u32(0, 0, 0, 0) // made and changed: no clock
	head.box(all)
	head.u16(0, 8, 2, 1, 0)

	hhea.u16(1, 0, ascent, -descent, 0, widest, left, right, all.x1, 1, 0, 0, 0, 0, 0, 0, 0, len(glyphs))

	maxp.u16(1, 0, len(glyphs), points, contours, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0)

	os2.u16(4, upem/2, 400, 5, 0) // may be installed and embedded
	os2.u16(upem/2, upem/2, 0, upem/7, upem/2, upem/2, 0, upem/3, upem/20, upem/4, 0)
	os2.Write(make([]byte, 10+16))
	os2.WriteString("NONE")
	os2.u16(0x40, int(min(runes[0], 0xFFFF)), int(min(runes[len(runes)-1], 0xFFFF)))
	os2.u16(ascent, -descent, 0, ascent, descent)
	os2.u32(0, 0)
	os2.u16(upem/2, upem*2/3, 0, ' ', 0)

	post.u16(3, 0, 0, 0, -upem/10, upem/20)
	post.u32(0, 0, 0, 0, 0)

	var text table
	records := []struct {
		id   int
		text string
	}{{0, copyright}, {1, name}, {2, "Regular"}, {4, name}, {6, string(slices.DeleteFunc([]rune(name), func(r rune) bool { return r == ' ' }))}, {13, "SIL Open Font License, Version 1.1"}}
	names.u16(0, len(records), 6+12*len(records))
	for _, r := range records {
		at := text.Len()
		for _, u := range utf16.Encode([]rune(r.text)) {
			text.u16(int(u))
		}
		names.u16(3, 1, 0x409, r.id, text.Len()-at, at)
	}
	names.Write(text.Bytes())

	return join([]part{
		{"OS/2", os2.Bytes()}, {"cmap", cmap.Bytes()}, {"glyf", glyf.Bytes()}, {"head", head.Bytes()}, {"hhea", hhea.Bytes()},
		{"hmtx", hmtx.Bytes()}, {"loca", loca.Bytes()}, {"maxp", maxp.Bytes()}, {"name", names.Bytes()}, {"post", post.Bytes()},
	})
}

// writeGlyph writes an outline and returns how many points it has.
func writeGlyph(t *table, g glyph, b box) int {
	t.u16(len(g.contours))
	t.box(b)
	n := 0
	for _, c := range g.contours {
		n += len(c)
		t.u16(n - 1)
	}
	t.u16(0) // no instructions
	var xs, ys table
	var last point
	for _, c := range g.contours {
		for _, p := range c {
			flag := byte(0)
			if p.on {
				flag = 1
			}
			t.WriteByte(flag)
			xs.u16(p.x - last.x)
			ys.u16(p.y - last.y)
			last = p
		}
	}
	t.Write(xs.Bytes())
	t.Write(ys.Bytes())
	for t.Len()%4 != 0 {
		t.WriteByte(0)
	}
	return n
}

type part struct {
	tag  string
	data []byte
}

// join puts tables, sorted by tag, into a file with their sums.
func join(parts []part) []byte {
	var dir, body table
	power := int(math.Log2(float64(len(parts))))
	dir.u32(0x00010000)
	dir.u16(len(parts), 16<<power, power, 16*len(parts)-16<<power)
	first := 12 + 16*len(parts)
	head := 0
	for _, p := range parts {
		if p.tag == "head" {
			head = first + body.Len()
		}
		dir.WriteString(p.tag)
		dir.u32(int(sum(p.data)), first+body.Len(), len(p.data))
		body.Write(p.data)
		for body.Len()%4 != 0 {
			body.WriteByte(0)
		}
	}
	out := append(dir.Bytes(), body.Bytes()...)
	binary.BigEndian.PutUint32(out[head+8:], 0xB1B0AFBA-sum(out))
	return out
}

// sum is the sum of a table's words, the last filled up with zeros.
func sum(b []byte) uint32 {
	var s uint32
	for len(b) > 0 {
		var w [4]byte
		n := copy(w[:], b)
		s += binary.BigEndian.Uint32(w[:])
		b = b[n:]
	}
	return s
}
