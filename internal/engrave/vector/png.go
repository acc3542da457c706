package vector

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"golang.org/x/image/vector"
)

// MaxPixels is the largest picture that PNG makes: 200 million pixels, an A2
// page at 600 dots per inch.
const MaxPixels = 200_000_000

// PNG paints the drawing on white at a resolution in dots per inch, 1 to 2400.
// The same drawing gives the same bytes.
func (d *Drawing) PNG(dpi float64) ([]byte, error) {
	img, err := d.Image(dpi)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.DefaultCompression}
	if err := enc.Encode(&b, img); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// Image paints the drawing as PNG does: in greys if it has no colour.
func (d *Drawing) Image(dpi float64) (image.Image, error) {
	if !(dpi >= 1 && dpi <= 2400) {
		return nil, fmt.Errorf("a resolution of %g dots per inch is not between 1 and 2400", dpi)
	}
	k := dpi / 25.4
	w, h := math.Round(d.W*k), math.Round(d.H*k)
	if w*h > MaxPixels {
		return nil, fmt.Errorf("%.0f × %.0f pixels are more than %d: ask for a lower resolution", w, h, MaxPixels)
	}
	bounds := image.Rect(0, 0, max(1, int(w)), max(1, int(h)))
	var img draw.Image = image.NewGray(bounds)
	if d.coloured() {
		img = image.NewNRGBA(bounds)
	}
	draw.Draw(img, bounds, image.White, image.Point{}, draw.Src)
	p := &painter{img: img}
	// The page's edges fall on pixel edges.
	m := Scale(float64(bounds.Dx())/d.W, float64(bounds.Dy())/d.H)
	Walk(&d.Root, m, func(n Node, m Matrix) bool {
		switch n := n.(type) {
		case *Group:
		case *Shape:
			if n.Fill.On {
				p.fill(n.Path.Transform(m), n.Fill)
			}
			if n.Stroke.On && n.Width > 0 {
				p.polygons(strokePolygons(n, m), n.Stroke)
			}
		case *Symbol:
			p.fill(n.Glyph.Path.Transform(m.Mul(n.At)), n.Fill)
		case *Text:
			rs, width := n.runs()
			x := n.left(width)
			for _, r := range rs {
				for _, k := range r.marks {
					p.fill(k.glyph.Path.Transform(m.Mul(k.at(x, n.Y))), k.fill)
				}
			}
		default:
			panic(fmt.Sprintf("vector: unexpected part %T", n))
		}
		return true
	})
	return img, nil
}

// coloured tells whether anything is painted that is not black or grey.
func (d *Drawing) coloured() bool {
	colour := func(p Paint) bool { return p.On && !p.Ink && (p.R != p.G || p.G != p.B) }
	found := false
	Walk(&d.Root, Identity, func(n Node, _ Matrix) bool {
		switch n := n.(type) {
		case *Shape:
			found = found || colour(n.Fill) || colour(n.Stroke)
		case *Symbol:
			found = found || colour(n.Fill)
		case *Text:
			for _, s := range n.Spans {
				found = found || colour(s.Fill)
			}
		}
		return true
	})
	return found
}

// painter fills outlines by coverage, each within its own box.
type painter struct {
	img draw.Image
	z   vector.Rasterizer
}

func (p *painter) fill(path *Path, c Paint) {
	chains, _ := path.flatten(0.1)
	p.polygons(chains, c)
}

// polygons paints closed chains of points in pixels, by the non-zero rule.
func (p *painter) polygons(chains [][]Point, c Paint) {
	if !c.On {
		return
	}
	box := EmptyRect()
	for _, ch := range chains {
		for _, q := range ch {
			box = box.Add(q)
		}
	}
	b := p.img.Bounds()
	box = box.Overlap(Rect{0, 0, float64(b.Dx()), float64(b.Dy())})
	if box.Empty() {
		return
	}
	x0, y0 := int(math.Floor(box.X0)), int(math.Floor(box.Y0))
	x1, y1 := int(math.Ceil(box.X1)), int(math.Ceil(box.Y1))
	if x1 <= x0 || y1 <= y0 {
		return
	}
	p.z.Reset(x1-x0, y1-y0)
	p.z.DrawOp = draw.Over
	for _, ch := range chains {
		if len(ch) < 2 {
			continue
		}
		for i, q := range ch {
			x, y := float32(q.X-float64(x0)), float32(q.Y-float64(y0))
			if i == 0 {
				p.z.MoveTo(x, y)
			} else {
				p.z.LineTo(x, y)
			}
		}
		p.z.ClosePath()
	}
	ink := color.RGBA{c.R, c.G, c.B, 255}
	if c.Ink {
		ink = color.RGBA{0, 0, 0, 255}
	}
	p.z.Draw(p.img, image.Rect(x0, y0, x1, y1), image.NewUniform(ink), image.Point{})
}
