package workbook

import (
	"slices"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
)

// piece is a strip across the page that is not divided: a line of text, a
// picture, a row of cards.
type piece struct {
	height float64
	gap    float64 // above it, unless it is the first of a page
	keep   bool    // the next piece must be on the same page
	loose  bool    // but for a page that would else be left too empty
	marks  []mark  // entries in the outline
	named  string  // the section that begins here, for the foot
	id     string  // by which other places refer to it
	draw   func(y float64) []*vector.Group
	// split divides a piece that is too high for the room, for such a page; nil: it is whole.
	split func(room float64) (first, rest piece, ok bool)
}

func nothing(float64) []*vector.Group { return nil }

// mark is an entry in the outline; level 0 is the highest.
type mark struct {
	text  string
	level int
}

// leaf is a page: pieces, or a page of music as the engraver made it.
type leaf struct {
	pieces []piece
	at     []float64 // their upper edges
	music  *vector.Drawing
	marks  []vector.Bookmark // of the music
	notice string            // above the foot
	title  bool
	named  string
}

// flow puts pieces on pages in order.
//
// Problem: break a column of pieces into pages so that no heading stands at the
// foot of one, no single line of a paragraph is left behind or carried over, and
// nothing is divided that belongs together. Method: pieces that must stay
// together are one block; blocks are put down as long as they fit, in one pass
// over the pieces. A block taller than a page is divided at a piece, and one that
// would leave a page too empty where that hurts least: words before their picture, a
// picture before what is said of it, a row of columns between two paragraphs.
// Rejected: choosing all breaks at once for evenly filled pages; the pages of a
// workbook end with white as often as not, and readers turn them by sections.
type flow struct {
	*setter
	paper  engrave.Paper
	bottom float64 // how far down pieces may reach
	leaves []*leaf
	open   *leaf
	y      float64
	block  []piece
	named  string
}

func (f *flow) full() float64  { return f.paper.Width - 2*f.paper.Side }
func (f *flow) depth() float64 { return f.bottom - f.paper.Top }

// add puts a piece down, with those that it must follow.
func (f *flow) add(p piece) {
	f.block = append(f.block, p)
	if !p.keep {
		f.settle()
	}
}

func (f *flow) settle() {
	block := f.block
	f.block = nil
	for len(block) > 0 {
		n, h := 0, 0.0
		for _, p := range block {
			v := p.height
			if n > 0 {
				v += p.gap
			}
			if n > 0 && h+v > f.depth() {
				break
			}
			h, n = h+v, n+1
		}
		if f.open != nil && f.y+block[0].gap+h > f.bottom {
			if k, cut := f.divide(block); k > 0 {
				block, n = cut, k
			} else {
				f.open = nil
			}
		}
		if f.open == nil {
			f.turn()
		}
		for _, p := range block[:n] {
			if len(f.open.pieces) > 0 {
				f.y += p.gap
			}
			if p.named != "" {
				f.named = p.named
			}
			if len(f.open.pieces) == 0 || p.named != "" && len(f.open.pieces) < 2 {
				f.open.named = f.named
			}
			f.open.pieces, f.open.at = append(f.open.pieces, p), append(f.open.at, f.y)
			f.y += p.height
		}
		block = block[n:]
	}
}

// divide finds how many pieces of a block go on a page that would be too empty without
// them; a piece may be divided for that. 0: none, or the page is full enough.
func (f *flow) divide(block []piece) (n int, cut []piece) {
	if len(f.open.pieces) == 0 || f.y-f.paper.Top >= f.style.fill*f.depth() {
		return 0, nil
	}
	y, last := f.y, 0
	for i, p := range block {
		y += p.gap
		if y+p.height > f.bottom {
			if p.split == nil {
				break
			}
			if first, rest, ok := p.split(f.bottom - y); ok {
				return i + 1, slices.Concat(block[:i], []piece{first, rest}, block[i+1:])
			}
			break
		}
		if y += p.height; p.loose || !p.keep {
			last = i + 1
		}
	}
	return last, block
}

// turn begins a page.
func (f *flow) turn() {
	f.open = &leaf{named: f.named}
	f.leaves = append(f.leaves, f.open)
	f.y = f.paper.Top
}

// close ends the page: what follows begins another.
func (f *flow) close() {
	if len(f.block) > 0 {
		f.settle()
	}
	f.open = nil
}

// need ends the page unless a height is left on it.
func (f *flow) need(h float64) {
	if f.open != nil && f.y+h > f.bottom {
		f.close()
	}
}

// para is how a paragraph stands.
type para struct {
	size   float64     // 0: the body's
	x      float64     // from the left margin
	width  float64     // 0: the measure
	gap    float64     // above
	label  string      // hangs left of the first line: "1."
	hang   float64     // room for it
	role   string      // "": a paragraph
	within *vector.Tag // what it is a part of
	keep   bool        // with what follows
	loose  bool        // see piece
}

// paragraph sets segments as lines; of two, three lines none is parted from the
// others, of more no single one at either end.
func (f *flow) paragraph(o para, segs ...seg) {
	for _, p := range f.lines(o, segs...) {
		f.add(p)
	}
}

func (f *flow) lines(o para, segs ...seg) []piece {
	if o.size == 0 {
		o.size = f.body
	}
	if o.width == 0 {
		o.width = min(f.full()-o.x, f.measure*f.body)
	}
	if o.role == "" {
		o.role = "P"
	}
	tag := &vector.Tag{Role: o.role, Within: o.within}
	lines := f.wrap(segs, o.size, o.width-o.hang)
	out := make([]piece, len(lines))
	for i, l := range lines {
		out[i] = piece{height: o.size * f.leading, keep: i == 0 && len(lines) > 1 || i == len(lines)-2 || i == len(lines)-1 && o.keep, loose: i == len(lines)-1 && o.loose}
		if i == 0 {
			out[i].gap = o.gap
		}
		out[i].draw = func(y float64) []*vector.Group {
			g := &vector.Group{Tag: tag}
			if i == 0 && o.label != "" {
				g.Add(f.line(o.label, f.paper.Side+o.x, y, o.size))
			}
			g.Add(f.text(l, f.paper.Side+o.x+o.hang, f.base(y, o.size), o.size)...)
			return []*vector.Group{g}
		}
	}
	return out
}

// base is the baseline of a line that begins at y: capitals are in its middle.
func (f *flow) base(y, size float64) float64 { return y + size*(f.leading+0.68)/2 }

func (f *flow) line(text string, x, y, size float64) *vector.Text {
	return f.Line(text, x, f.base(y, size), size, f.plain)
}

// heading sets a heading with an entry in the outline; level 0 is the highest.
func (f *flow) heading(level int, text string) {
	for _, p := range f.headingLines(level, text, 0, f.full()) {
		f.add(p)
	}
}

func (f *flow) headingLines(level int, text string, x, width float64) []piece {
	size := []float64{f.h1, f.h2, f.h3}[level]
	gap := []float64{9, 7, 4.5}[level]
	ps := f.lines(para{size: size, x: x, width: width, gap: gap, role: []string{"H1", "H2", "H3"}[level], keep: true}, seg{text: text, face: f.bold})
	for i := range ps {
		ps[i].keep = true
	}
	if len(ps) > 0 {
		ps[0].marks = []mark{{text, level}}
	}
	return append(ps, piece{height: 0.6, keep: true, draw: nothing})
}

// list sets points, each after its label: a bullet where it has none. The first
// two stay together, and the last two.
func (f *flow) list(items ...item) {
	whole := &vector.Tag{Role: "L"}
	for i, it := range items {
		o := f.listed(it.label)
		o.of(whole)
		o.keep = len(items) > 1 && (i == 0 || i == len(items)-2)
		f.paragraph(o, it.text...)
	}
}

// of makes a paragraph a point of a list.
func (o *para) of(list *vector.Tag) {
	o.role, o.within = "LBody", &vector.Tag{Role: "LI", Within: list}
}

// item is a point of a list.
type item struct {
	label string
	text  []seg
}

// listed is how a point stands. Its text begins a blank after the label: farther
// away, readers of the file take labels and texts for two columns.
func (f *flow) listed(label string) para {
	if label == "" {
		label = "•"
	}
	return para{label: label, hang: f.width(seg{text: label + " ", face: f.plain})*f.body + 0.1, gap: f.style.paragraph / 2}
}

// spread sets items in the columns of the page, as few pages as they need and of
// like height on the last. Each item makes its pieces for a left edge and a width.
func (f *flow) spread(items []func(x, width float64) []piece) {
	n := max(1, f.style.columns)
	width := (f.full() - float64(n-1)*f.between) / float64(n)
	heights := make([]float64, len(items)) // with the gap above
	for i, it := range items {
		for _, p := range it(0, width) {
			heights[i] += p.gap + p.height
		}
	}
	// fill returns where each column ends, when columns may be so high.
	fill := func(from int, most float64) []int {
		var ends []int
		for range n {
			h, start := 0.0, from
			for from < len(items) && (from == start || h+heights[from] <= most) {
				h += heights[from]
				from++
			}
			ends = append(ends, from)
		}
		return ends
	}
	for from := 0; from < len(items); {
		most := f.depth()
		if f.open != nil {
			most = f.bottom - f.y
		}
		for _, p := range f.block { // a heading that waits for what follows it
			most -= p.gap + p.height
		}
		most -= f.style.paragraph
		if most < 8*f.body && f.open != nil {
			f.open = nil
			continue
		}
		ends := fill(from, most)
		if ends[n-1] == len(items) { // the last page
			for less := most * 0.97; less > f.body; less *= 0.97 {
				if e := fill(from, less); e[n-1] == len(items) {
					ends = e
				} else {
					break
				}
			}
		}
		columns := make([][]piece, n)
		i := from
		for c := range columns {
			for ; i < ends[c]; i++ {
				columns[c] = append(columns[c], items[i](float64(c)*(width+f.between), width)...)
			}
		}
		f.add(beside(f.style.paragraph, false, columns...))
		if from = i; from < len(items) {
			f.close()
		}
	}
}

// picture is a drawing with its place in a row and what it says.
type picture struct {
	d     *vector.Drawing
	x     float64
	alt   string
	under []vector.Node // behind the drawing, in its coordinates
}

// figures sets pictures side by side, level at the top.
func (f *flow) figures(gap float64, keep bool, ps ...picture) piece {
	h := 0.0
	for _, p := range ps {
		h = max(h, p.d.H)
	}
	return piece{height: h, gap: gap, keep: keep, draw: func(y float64) []*vector.Group {
		var out []*vector.Group
		for _, p := range ps {
			g := &vector.Group{At: vector.Translate(f.paper.Side+p.x, y), Tag: &vector.Tag{Role: "Figure", Alt: p.alt}}
			g.Add(p.under...)
			g.Kids = append(g.Kids, p.d.Root.Kids...)
			out = append(out, g)
		}
		return out
	}}
}
