package engrave

import (
	"context"
	"strings"

	"gradatim/internal/engrave/vector"
)

// Setter sets words as the pages do, with the accidentals and note values of the
// music font, for pages that are put together elsewhere.
type Setter struct{ ts typesetter }

// Setter returns one.
func (g *Engraver) Setter(ctx context.Context) (Setter, error) {
	music, err := g.music(ctx)
	return Setter{typesetter{music}}, err
}

// noteValues are the signs of note values in text, as in tempo marks.
var noteValues = map[rune]string{'♩': "\uECA5", '♪': "\uECA7"}

// Spans sets a text in one style; size is that of the em, in millimetres. A
// letter that no font has is shown as an open square. plain tells whether the
// spans show the text as it is; where not, whoever makes a vector.Text of them
// sets its Plain to the text.
func (s Setter) Spans(text string, size float64, face vector.Face) (spans []vector.Span, plain bool) {
	plain = true
	var run strings.Builder
	flush := func() {
		spans = append(spans, s.ts.spans(run.String(), size, 0, face)...)
		run.Reset()
	}
	for _, r := range text {
		glyph, value := noteValues[r]
		switch {
		case value:
			flush()
			spans = append(spans, vector.Span{Text: glyph, Size: 1.3 * size, Music: s.ts.music, Fill: vector.Ink, Space: 0.08 * size})
			plain = false
		case isAccidental(r):
			run.WriteRune(r)
			plain = false
		case !vector.CanDraw(r):
			run.WriteRune('□')
			plain = false
		default:
			run.WriteRune(r)
		}
	}
	flush()
	return spans, plain
}

// Line sets a line of text in one style, from its left end on the baseline.
func (s Setter) Line(text string, x, y, size float64, face vector.Face) *vector.Text {
	spans, plain := s.Spans(text, size, face)
	t := &vector.Text{X: x, Y: y, Spans: spans}
	if !plain {
		t.Plain, t.Outlined = text, true
	}
	return t
}

// Symbol sets a chord symbol, such as "E♭7(♯9)/D", as above a staff.
func (s Setter) Symbol(text string, x, y, size float64) *vector.Text {
	var sym symbol
	head, bass, slash := strings.Cut(text, "/")
	if slash && bass != "" && bass[0] >= 'A' && bass[0] <= 'G' {
		sym.bass = bass
	} else {
		head = text // 6/9
	}
	n := 0
	for i, r := range head {
		if i > 0 && r != '♭' && r != '♯' {
			break
		}
		n = i + len(string(r))
	}
	sym.root = head[:n]
	sym.suffix, sym.raised = cutRaised(head[n:])
	t := s.ts.symbol(sym, x, y, size)
	t.Plain = text
	return t
}

// Music returns what is printed of a page, counted from 0 and below Pages,
// without its foot. The drawing is shared and must not be changed.
func (d *Document) Music(page int) *vector.Drawing {
	whole := d.pages[page]
	out := *whole
	out.Root.Kids = nil
	for _, k := range whole.Root.Kids {
		if g, ok := k.(*vector.Group); ok && hasWord(g.Class, "foot") {
			continue
		}
		out.Root.Kids = append(out.Root.Kids, k)
	}
	return &out
}

// Marks are the rehearsal marks with their pages.
func (d *Document) Marks() []vector.Bookmark { return d.marks }

// Drawing returns the picture. It is shared and must not be changed.
func (p *Picture) Drawing() *vector.Drawing { return p.drawing }

// Strip engraves a score as one picture of a width in millimetres, at least 80:
// systems only, cut to their height. What cannot be printed comes with it.
func (g *Engraver) Strip(ctx context.Context, musicxml []byte, width, staff float64, l Layout) (*vector.Drawing, *Document, error) {
	l.Paper = Paper{Width: width, Height: 2000}
	l.StaffHeight = staff
	l.Title = Title{Hide: true}
	doc, err := g.Pages(ctx, musicxml, l)
	if err != nil {
		return nil, nil, err
	}
	d, _ := doc.cut(0)
	return d, doc, nil
}

// cut is the music of a page, cut to its height; it lay so far from the top.
func (d *Document) cut(page int) (_ *vector.Drawing, top float64) {
	m := d.Music(page)
	r := m.Root.Bounds(vector.Identity)
	out := &vector.Drawing{W: m.W, H: r.H(), Title: m.Title, Description: m.Description, Lang: m.Lang}
	out.Root.Add(&vector.Group{At: vector.Translate(0, -r.Y0), Kids: m.Root.Kids})
	return out, r.Y0
}
