package vector

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Bookmark is an entry in the outline of a PDF file.
type Bookmark struct {
	Text  string
	Level int     // 0 is the top
	Page  int     // counted from 0
	Y     float64 // mm from the page's upper edge
}

// PDFMeta describes a PDF file.
type PDFMeta struct {
	Title, Author, Subject, Keywords string
	Lang                             string    // such as "en"
	Date                             time.Time // of creation; zero: 2000-01-01, so that bytes do not depend on the day
	Bookmarks                        []Bookmark
}

// PDF writes drawings as the pages of one file: vectors, and the letters that
// the text font has as text of embedded subsets of it. Other signs are drawn
// as outlines with their text laid over them, unseen. The same drawings give
// the same bytes.
func PDF(ctx context.Context, pages []*Drawing, meta PDFMeta) ([]byte, error) {
	if len(pages) == 0 {
		return nil, errors.New("a PDF file needs a page")
	}
	date := meta.Date
	if date.IsZero() {
		date = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: pages[0].W * ptPerMM, Ht: pages[0].H * ptPerMM}})
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	f.SetCatalogSort(true)
	f.SetCreationDate(date)
	f.SetModificationDate(date)
	f.SetProducer("gradatim", true)
	f.SetCreator("gradatim", true)
	f.SetTitle(meta.Title, true)
	for _, set := range []struct {
		f func(string, bool)
		v string
	}{{f.SetAuthor, meta.Author}, {f.SetSubject, meta.Subject}, {f.SetKeywords, meta.Keywords}} {
		if set.v != "" {
			set.f(set.v, true)
		}
	}
	if meta.Lang != "" {
		f.SetLang(meta.Lang)
	}
	w := &pdfWriter{f: f, faces: map[Face]bool{}, tags: newTagged(pages)}
	for i, d := range pages {
		if err := context.Cause(ctx); err != nil {
			return nil, err
		}
		f.AddPageFormat("P", fpdf.SizeType{Wd: d.W * ptPerMM, Ht: d.H * ptPerMM})
		w.page(d, i)
		for _, b := range meta.Bookmarks {
			if b.Page == i {
				w.font(Regular, 10) // the library writes other than Latin text only with such a font set
				f.Bookmark(b.Text, b.Level, b.Y*ptPerMM)
			}
		}
	}
	// The library presses all pages at once and does not look at the context: it is not
	// waited for when that ends.
	type file struct {
		data []byte
		err  error
	}
	done := make(chan file, 1)
	go func() {
		var b bytes.Buffer
		if err := f.Output(&b); err != nil {
			done <- file{err: fmt.Errorf("pdf: %w", err)}
			return
		}
		data, err := w.tags.finish(tagSubsets(b.Bytes()))
		done <- file{data, err}
	}()
	select {
	case out := <-done:
		return out.data, out.err
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	}
}

const ptPerMM = 72 / 25.4

// The library names embedded fonts "utf8" and the family. PDF wants the name of
// a subset to begin with six capitals and a plus sign (ISO 32000-1, 9.6.4);
// both names have the same length, so that no offset in the file moves.
const (
	pdfFamily = "xxxliberationserif"
	pdfSans   = "xxxliberationsans"
)

var pdfNames = []struct{ family, name string }{{pdfFamily, "+LiberationSerif"}, {pdfSans, "+LiberationSans"}}

func tagSubsets(b []byte) []byte {
	sum := sha256.Sum256(b)
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = 'A' + sum[i]%26
	}
	for _, n := range pdfNames {
		b = bytes.ReplaceAll(b, []byte("/utf8"+n.family), []byte("/"+string(tag)+n.name))
	}
	return b
}

type pdfWriter struct {
	f     *fpdf.Fpdf
	faces map[Face]bool
	tags  *tagged
	h     float64 // of the page, pt
	path  bytes.Buffer
	state string // colours and line style that are set in path
}

func (w *pdfWriter) page(d *Drawing, page int) {
	w.h = d.H * ptPerMM
	m := Scale(ptPerMM, ptPerMM)
	if !w.tags.on {
		w.part(&d.Root, m)
		w.flush()
		return
	}
	m = m.Mul(d.Root.Matrix())
	for _, k := range d.Root.Kids {
		before, after := w.tags.open(page, k)
		w.f.RawWriteStr(before)
		w.part(&Group{Kids: []Node{k}}, m)
		w.flush()
		w.f.RawWriteStr(after)
	}
}

func (w *pdfWriter) part(g *Group, m Matrix) {
	Walk(g, m, func(n Node, m Matrix) bool {
		switch n := n.(type) {
		case *Group:
		case *Shape:
			w.shape(n, m)
		case *Symbol:
			w.fill(n.Glyph.Path, m.Mul(n.At), n.Fill)
		case *Text:
			w.text(n, m)
		default:
			panic(fmt.Sprintf("vector: unexpected part %T", n))
		}
		return true
	})
}

// flush ends a run of paths, before text.
func (w *pdfWriter) flush() {
	if w.path.Len() == 0 {
		return
	}
	w.f.RawWriteStr("q")
	w.f.RawWriteBuf(&w.path)
	w.f.RawWriteStr("Q")
	w.path.Reset()
	w.state = ""
}

// set writes graphics state unless it is set.
func (w *pdfWriter) set(state string) {
	if state != w.state {
		w.path.WriteString(state)
		w.state = state
	}
}

func pdfColour(p Paint, operator string) string {
	if p.Ink {
		p.R, p.G, p.B = 0, 0, 0
	}
	c := func(v uint8) string { return trimmed(float64(v)/255, 4) }
	return c(p.R) + " " + c(p.G) + " " + c(p.B) + " " + operator + "\n"
}

func (w *pdfWriter) fill(p *Path, m Matrix, c Paint) {
	if !c.On || p.Empty() {
		return
	}
	w.set(pdfColour(c, "rg"))
	w.outline(p, m)
	w.path.WriteString("f\n")
}

func (w *pdfWriter) shape(s *Shape, m Matrix) {
	w.fill(s.Path, m, s.Fill)
	if !s.Stroke.On || s.Width <= 0 || s.Path.Empty() {
		return
	}
	k := m.Size()
	st := fmt.Sprintf("%s%s w %d J %d j [", pdfColour(s.Stroke, "RG"), num(s.Width*k), s.Cap, s.Join)
	for i, v := range s.Dash {
		if i > 0 {
			st += " "
		}
		st += num(v * k)
	}
	w.set(st + "] 0 d\n")
	w.outline(s.Path, m)
	w.path.WriteString("S\n")
}

func (w *pdfWriter) outline(p *Path, m Matrix) {
	p.each(func(o op, _ Point, pts []Point) {
		if o == opClose {
			w.path.WriteString("h\n")
			return
		}
		for _, q := range pts {
			q = m.On(q)
			w.number(q.X)
			w.number(w.h - q.Y)
		}
		w.path.WriteString(map[op]string{opMove: "m\n", opLine: "l\n", opCubic: "c\n"}[o])
	})
}

func (w *pdfWriter) number(v float64) {
	b := strconv.AppendFloat(w.path.AvailableBuffer(), math.Round(v*100)/100, 'f', -1, 64)
	w.path.Write(append(b, ' '))
}

func (w *pdfWriter) text(t *Text, m Matrix) {
	rs, width := t.runs()
	x := t.left(width)
	if t.Leads > 0 && len(rs) > 0 {
		size := rs[0].size
		at, to := m.On(Point{x, t.Y - size}), m.On(Point{x + width, t.Y + size/3})
		link := w.f.AddLink()
		w.f.SetLink(link, 0, t.Leads)
		w.f.Link(at.X, at.Y, to.X-at.X, to.Y-at.Y, link)
	}
	whole := !t.Outlined && t.Plain == ""
	for _, r := range rs {
		whole = whole && r.native
	}
	upright := m.B == 0 && m.C == 0 && m.A == m.D
	if whole && upright {
		for _, r := range rs {
			if r.fill.On {
				w.show(r.text, r.face, r.size, m, Point{x + r.dx, t.Y - r.rise}, r.fill)
			}
		}
		return
	}
	size, face := 0.0, Regular
	for _, r := range rs {
		for _, k := range r.marks {
			w.fill(k.glyph.Path, m.Mul(k.at(x, t.Y)), k.fill)
		}
		if size == 0 || r.native {
			size = r.size
			if r.native {
				face = r.face
			}
		}
	}
	w.lay(t.String(), face, size, width, m, Point{x, t.Y})
}

// show paints letters of the text font.
func (w *pdfWriter) show(s string, face Face, size float64, m Matrix, at Point, c Paint) {
	w.flush()
	w.font(face, size*m.Size())
	w.f.SetTextColor(int(c.R), int(c.G), int(c.B))
	at = m.On(at)
	w.f.Text(at.X, at.Y, basicPlane(s))
}

// basicPlane replaces characters that a code of two bytes cannot hold.
func basicPlane(s string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF {
			return '\uFFFD'
		}
		return r
	}, s)
}

// lay puts unseen letters over outlines, stretched to their width.
func (w *pdfWriter) lay(s string, face Face, size, width float64, m Matrix, at Point) {
	s = basicPlane(s)
	if strings.TrimSpace(s) == "" {
		return
	}
	w.flush()
	w.font(face, size*m.Size())
	w.f.SetTextColor(0, 0, 0)
	w.f.SetTextRenderingMode(3)
	natural := w.f.GetStringWidth(s)
	scale := 100.0
	if want := width * m.Size(); natural > 0 && want > 0 {
		scale = want / natural * 100
	}
	w.f.RawWriteStr(num(scale) + " Tz")
	at = m.On(at)
	w.f.Text(at.X, at.Y, s)
	w.f.RawWriteStr("100 Tz")
	w.f.SetTextRenderingMode(0)
}

// font sets the font, and embeds it when first used.
func (w *pdfWriter) font(face Face, size float64) {
	style := map[Face]string{Bold: "B", Italic: "I", BoldItalic: "BI", SansBold: "B"}[face]
	family := pdfFamily
	if face == Sans || face == SansBold {
		family = pdfSans
	}
	if !w.faces[face] {
		w.faces[face] = true
		w.f.AddUTF8FontFromBytes(family, style, fonts[face].ttf)
	}
	w.f.SetFont(family, style, size)
}
