package workbook

import (
	"context"
	"crypto/sha256"
	"strings"
	"sync"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
	"gradatim/internal/musicxml"
	"gradatim/internal/teach"
	"gradatim/leadsheet"
)

// strip is a small score, engraved.
type strip struct {
	d       *vector.Drawing
	doc     *engrave.Document
	systems int
	err     error
}

type stripKey struct {
	score [sha256.Size]byte
	width float64
}

// press engraves the pictures of a workbook, each once, and several at a time
// when they are ordered before they are needed.
type press struct {
	g     *engrave.Engraver
	lang  string
	o     Options
	style style

	mu    sync.Mutex
	cache map[stripKey]strip
}

// order engraves scores in advance.
func (p *press) order(ctx context.Context, workers int, scores []teach.Music, widths []float64) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range workers {
		wg.Go(func() {
			for i := range next {
				p.strip(ctx, scores[i], widths[i]) // an error comes back when the strip is asked for
			}
		})
	}
	for i := range scores {
		next <- i
	}
	close(next)
	wg.Wait()
}

// strip engraves a score as one picture.
func (p *press) strip(ctx context.Context, m teach.Music, width float64) strip {
	xml, err := musicxml.Write(m.Bare())
	if err != nil {
		return strip{err: err}
	}
	key := stripKey{sha256.Sum256(xml), width}
	p.mu.Lock()
	out, ok := p.cache[key]
	p.mu.Unlock()
	if ok {
		return out
	}
	d, doc, err := p.g.Strip(ctx, xml, width, p.style.staff, engrave.Layout{LargePrint: p.o.LargePrint, Lang: p.lang})
	out = strip{d: d, doc: doc, err: err}
	if err == nil {
		vector.Walk(&d.Root, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
			g, ok := n.(*vector.Group)
			if ok && strings.Contains(" "+g.Class+" ", " system ") {
				out.systems++
				return false
			}
			return ok
		})
	}
	p.mu.Lock()
	p.cache[key] = out
	p.mu.Unlock()
	return out
}

// inkWidth is how far to the right the music reaches.
func (s strip) inkWidth() float64 { return s.d.Root.Bounds(vector.Identity).X1 }

// shade marks notes of a strip: grey behind their heads, which any printer
// shows.
func (s strip) shade(ids []string) []vector.Node {
	if s.d == nil || len(s.d.Root.Kids) == 0 {
		return nil
	}
	m := vector.Identity
	if g, ok := s.d.Root.Kids[0].(*vector.Group); ok {
		m = g.Matrix()
	}
	var out []vector.Node
	for _, id := range ids {
		b, ok := s.doc.Boxes[id]
		if !ok || b.Page != 0 {
			continue
		}
		c := m.On(vector.Point{X: b.X + b.W/2, Y: b.Y + b.H/2})
		path := &vector.Path{}
		path.Ellipse(c.X, c.Y, b.W*0.85+0.4, b.H*0.9+0.4)
		out = append(out, &vector.Shape{Path: path, Fill: vector.RGB(0xcf, 0xcf, 0xcf)})
	}
	return out
}

// within names the picture that problems belong to, whose bars are not those of
// the sheet.
func within(ps leadsheet.Problems, what any) leadsheet.Problems {
	out := make(leadsheet.Problems, len(ps))
	for i, p := range ps {
		out[i] = leadsheet.Tell(p.Severity, leadsheet.Pos{File: p.Pos.File, Line: p.Pos.Line, Col: p.Pos.Col}, "in-picture", "Picture", what, "Problem", p)
		out[i].Code = p.Code
	}
	return out
}
