package engrave

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/engrave/vector"
	"gradatim/leadsheet"
)

// readSystems takes the systems out of the library's pages, in order. They
// keep its units, hundredths of a millimetre at its own size.
func readSystems(ctx context.Context, svgs []string, music *vector.Music) ([]*vector.Group, error) {
	fonts := map[string]*vector.Music{music.Name: music}
	var out []*vector.Group
	for _, s := range svgs {
		if err := context.Cause(ctx); err != nil {
			return nil, err
		}
		page, err := vector.ReadSVG(s, fonts)
		if err != nil {
			return nil, fmt.Errorf("engrave: the library's page: %w", err)
		}
		var stray error
		vector.Walk(page, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
			g, ok := n.(*vector.Group)
			if !ok {
				stray = fmt.Errorf("engrave: the library drew a %T outside a system", n)
				return false
			}
			if hasWord(g.Class, "system") {
				out = append(out, g)
				return false
			}
			return true
		})
		if stray != nil {
			return nil, stray
		}
	}
	if len(out) == 0 {
		return nil, leadsheet.Problems{leadsheet.Tell(leadsheet.Error, leadsheet.Pos{}, "engrave-empty")}
	}
	return out, nil
}

// hasWord tells whether a class is among the words of a class attribute.
func hasWord(class, word string) bool {
	for w := range strings.FieldsSeq(class) {
		if w == word {
			return true
		}
	}
	return false
}

// composer puts systems on pages.
type composer struct {
	p     *prepared
	l     Layout
	ts    typesetter
	title Title
	barAt map[string]int // bar ids to indices
	doc   *Document

	placed int // bars that the library has drawn
}

// compose makes the document.
func compose(ctx context.Context, p *prepared, systems []*vector.Group, l Layout, ts typesetter, more leadsheet.Problems) (*Document, error) {
	c := &composer{p: p, l: l, ts: ts, title: p.title(l.Title), barAt: map[string]int{}}
	for i, b := range p.bars {
		c.barAt[b.id] = i
	}
	c.doc = &Document{Boxes: map[string]Box{}, Warnings: slices.Concat(p.problems, more), layout: l, title: c.title, bars: len(p.bars)}
	k := l.scale() / svgPerMM
	engine := vector.Scale(k, k)
	pc := pageCost{gap: 0.6 * l.StaffHeight, ideal: 1.3 * l.StaffHeight}
	switch l.Density {
	case Airy:
		pc.ideal = 1.7 * l.StaffHeight
	case Dense:
		pc.ideal = l.StaffHeight
	}
	inks := make([]vector.Rect, len(systems))
	for i, s := range systems {
		if err := context.Cause(ctx); err != nil {
			return nil, err
		}
		first := c.dress(s, i)
		c.doc.begins = append(c.doc.begins, first)
		untangle(s)
		offBars(s)
		arrangeRows(s)
		inks[i] = s.Bounds(engine)
		pc.heights = append(pc.heights, inks[i].H())
		pc.phrase = append(pc.phrase, first == 0 || first > 0 && (p.bars[first].hint || p.bars[first].section))
	}
	if n := c.placed; n < len(p.bars) {
		c.doc.Warnings.Tell(leadsheet.Warning, leadsheet.Pos{}, "engrave-bars", "Printed", n, "Bars", len(p.bars))
	}
	if c.placed == 0 {
		return nil, leadsheet.Problems{leadsheet.Tell(leadsheet.Error, leadsheet.Pos{Bar: 1}, "engrave-empty")}
	}
	head := c.head()
	_, low := c.foot(0, 1)
	bottom := low - 3
	pc.first = bottom - l.Paper.Top - head.height
	pc.other = bottom - l.Paper.Top
	starts := pc.plan()
	c.doc.costs = pc
	before := 0.0 // distance on the page before
	for i, from := range starts {
		to := len(systems)
		if i+1 < len(starts) {
			to = starts[i+1]
		}
		d := &vector.Drawing{W: l.Paper.Width, H: l.Paper.Height, Lang: l.Lang}
		top := l.Paper.Top
		if i == 0 {
			if head.group != nil {
				d.Root.Add(head.group)
			}
			top += head.height
		}
		most := 2.2 * pc.ideal
		if i+1 == len(starts) {
			most = max(1.25*pc.ideal, before) // as on the page before, not torn apart
		}
		gap := pc.spread(from, to, bottom-top, most)
		before = gap
		y := top
		for j := from; j < to; j++ {
			if err := context.Cause(ctx); err != nil {
				return nil, err
			}
			// A wrapper places the system: its own numbers stay what they were.
			m := vector.Matrix{A: k, D: k, E: l.Paper.Side, F: y - inks[j].Y0}
			systems[j].At = m.Mul(systems[j].Matrix())
			d.Root.Add(systems[j])
			c.locate(systems[j], i)
			c.doc.Systems = append(c.doc.Systems, Box{i, l.Paper.Side + inks[j].X0, y, inks[j].W(), inks[j].H()})
			y += inks[j].H() + gap
		}
		c.doc.pages = append(c.doc.pages, d)
	}
	for i, d := range c.doc.pages {
		if err := context.Cause(ctx); err != nil {
			return nil, err
		}
		if !l.HideFoot {
			foot, _ := c.foot(i, len(c.doc.pages))
			d.Root.Add(foot)
		}
		d.Title = cmp.Or(c.title.Title, l.words.Say("sheet.score"))
		if len(c.doc.pages) > 1 {
			d.Title = l.words.Say("sheet.titled-page", "Title", d.Title, "n", i+1, "Of", len(c.doc.pages))
		}
		d.Description = c.describe(d)
		c.rename(&d.Root)
	}
	return c.doc, nil
}

// spread returns the distance between systems that fills a page, up to the
// given one.
func (c pageCost) spread(from, to int, room, most float64) float64 {
	n := to - from
	if n < 2 {
		return 0
	}
	for _, v := range c.heights[from:to] {
		room -= v
	}
	return min(room/float64(n-1), most)
}

// dress puts chord symbols in the places that were held for them, completes bar
// numbers and the tempo mark, and returns the index of the system's first bar,
// −1 if it has none. n counts the systems from 0.
func (c *composer) dress(system *vector.Group, n int) (first int) {
	first = -1
	top, _ := edges(system)
	for _, k := range system.Kids {
		m, ok := k.(*vector.Group)
		if !ok || !hasWord(m.Class, "measure") {
			continue
		}
		i, ok := c.barAt[m.ID]
		if !ok {
			continue
		}
		if first < 0 {
			first = i
			if n > 0 || c.p.bars[i].late() {
				c.number(m, c.p.bars[i], top)
			}
		}
		if i == 0 && c.p.swing {
			for _, k := range m.Kids {
				if g, ok := k.(*vector.Group); ok && hasWord(g.Class, "tempo") {
					c.ts.equation(g)
				}
			}
		}
		c.placed++
		symbols := c.p.symbols[i]
		set := 0
		vector.Walk(m, vector.Identity, func(nd vector.Node, _ vector.Matrix) bool {
			g, ok := nd.(*vector.Group)
			if !ok {
				return true
			}
			if !hasWord(g.Class, "harm") {
				return true
			}
			if set < len(symbols) && c.symbol(g, symbols[set]) {
				set++
			}
			return false
		})
		if set < len(symbols) {
			c.doc.Warnings.Tell(leadsheet.Warning, leadsheet.Pos{Bar: i + 1}, "engrave-symbol", "Symbols", len(symbols)-set)
		}
	}
	return first
}

// number sets the number of a system's first bar where the library left it out,
// which it does under a rehearsal mark. Its place and size are the library's.
func (c *composer) number(measure *vector.Group, b bar, top float64) {
	if b.pickup || b.number == "" {
		return
	}
	for _, k := range measure.Kids {
		if g, ok := k.(*vector.Group); ok && hasWord(g.Class, "mNum") && !g.Bounds(vector.Identity).Empty() {
			return
		}
	}
	measure.Add(&vector.Group{Class: "mNum", Kids: []vector.Node{
		c.ts.line(b.number, 0, top-1.35*space, 1.8*space, vector.Italic, vector.Middle)}})
}

// symbol replaces what holds the place by the symbol and its degrees.
func (c *composer) symbol(g *vector.Group, s symbol) bool {
	for _, k := range g.Kids {
		t, ok := k.(*vector.Text)
		if !ok || len(t.Spans) == 0 {
			continue
		}
		size := t.Spans[0].Size
		g.Kids = []vector.Node{c.ts.symbol(s, t.X, t.Y, size)}
		if s.degrees != "" {
			// Degrees stand apart from each other more than words do.
			d := c.ts.line(strings.ReplaceAll(s.degrees, " ", "\u2002"), t.X, t.Y+0.78*size, size*degreesSize, vector.Regular, vector.Start)
			d.Plain = s.degrees
			g.Add(&vector.Group{Class: "degrees", Kids: []vector.Node{d}})
		}
		return true
	}
	return false
}

// locate notes where the things of a system came to stand.
func (c *composer) locate(system *vector.Group, page int) {
	box := func(r vector.Rect) Box { return Box{page, r.X0, r.Y0, r.W(), r.H()} }
	vector.Walk(system, vector.Identity, func(n vector.Node, m vector.Matrix) bool {
		g, ok := n.(*vector.Group)
		if !ok {
			return true
		}
		kind, _, _ := strings.Cut(g.Class, " ")
		switch kind {
		case "note":
			r := vector.EmptyRect()
			for _, k := range g.Kids {
				if h, ok := k.(*vector.Group); ok && hasWord(h.Class, "notehead") {
					r = r.Union(h.Bounds(m.Mul(g.Matrix())))
				}
			}
			if g.ID != "" && !r.Empty() {
				c.doc.Boxes[g.ID] = box(r)
			}
		case "rest", "mRest":
			if r := g.Bounds(m); g.ID != "" && !r.Empty() {
				c.doc.Boxes[g.ID] = box(r)
			}
		case "measure":
			r := vector.EmptyRect()
			for _, k := range g.Kids {
				if st, ok := k.(*vector.Group); ok && hasWord(st.Class, "staff") {
					lines := &vector.Group{At: st.At}
					for _, s := range st.Kids {
						if _, ok := s.(*vector.Shape); ok {
							lines.Add(s)
						}
					}
					r = r.Union(lines.Bounds(m.Mul(g.Matrix())))
				}
			}
			if g.ID != "" && !r.Empty() {
				c.doc.Boxes[g.ID] = box(r)
			}
		case "harm":
			c.doc.Chords = append(c.doc.Chords, box(g.Bounds(m)))
		case "reh":
			for _, k := range g.Kids {
				if t, ok := k.(*vector.Text); ok {
					c.doc.marks = append(c.doc.marks, vector.Bookmark{Text: strings.TrimSpace(t.String()),
						Level: 1, Page: page, Y: max(0, g.Bounds(m).Y0-2)})
				}
			}
		}
		return true
	})
}

// describe says in a sentence what a page shows.
func (c *composer) describe(d *vector.Drawing) string {
	first, last := "", ""
	vector.Walk(&d.Root, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
		if g, ok := n.(*vector.Group); ok && hasWord(g.Class, "measure") {
			if i, ok := c.barAt[g.ID]; ok {
				last = cmp.Or(c.p.bars[i].number, fmt.Sprint(i+1))
				first = cmp.Or(first, last)
			}
			return false
		}
		return true
	})
	w := c.l.words
	bars, what := "sheet.bars", "sheet.music"
	if first == last {
		bars = "sheet.one-bar"
	}
	if c.p.single && c.p.staves == 2 {
		what = "sheet.piano-music"
	}
	s := w.Say(what, "Bars", w.Say(bars, "From", first, "To", last))
	if t := strings.TrimSpace(c.title.Subtitle); t != "" {
		s += "; " + t
	}
	return s + "."
}

// rename takes away the ids that the library made up, which are the same in
// every score, and gives the score's own the wanted prefix.
func (c *composer) rename(g *vector.Group) {
	vector.Walk(g, vector.Identity, func(n vector.Node, _ vector.Matrix) bool {
		if g, ok := n.(*vector.Group); ok && g.ID != "" {
			_, note := c.p.ids[g.ID]
			switch {
			case !note:
				g.ID = ""
			case c.l.prefixed:
				g.ID = c.l.IDPrefix + "-" + g.ID
			}
		}
		return true
	})
}
