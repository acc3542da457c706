package engrave

import (
	"context"

	"gradatim/internal/engrave/vector"
)

// A part is not drawn out to margins: its notes have the distances that those of a
// page have on average, and there is some room around.
const (
	partSpacing = 0.35
	partMargin  = 2 // mm
)

// Part engraves a score as one system, as wide as its notes need: a few bars, cut
// out with score.Score.Excerpt, in the time that a player waits gladly. The only
// page of the document is the picture, without title and foot. Of the layout the
// paper does not count.
//
// The library is told to break no lines: dividing a score into systems costs it
// more than all else, however short the score is.
func (g *Engraver) Part(ctx context.Context, musicxml []byte, l Layout) (*Document, error) {
	l.Title, l.HideFoot = Title{Hide: true}, true
	l, err := l.plain()
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeoutCause(ctx, g.timeout, tooLong(g.timeout))
	defer cancel()
	p, music, err := g.read(ctx, musicxml, l)
	if err != nil {
		return nil, err
	}
	o := options(l, l.Paper.Width)
	o.Breaks, o.SpacingLinear = "none", partSpacing
	svgs, log, err := g.render(ctx, o, p.encode(nil))
	if err != nil {
		return nil, g.place(ctx, err, o, p)
	}
	systems, err := readSystems(ctx, svgs, music)
	if err != nil {
		return nil, err
	}
	k := l.scale() / svgPerMM
	ink := systems[0].Bounds(vector.Scale(k, k))
	l.Paper = Paper{Width: ink.W() + 2*partMargin, Height: 2000, Side: partMargin - ink.X0}
	doc, err := compose(ctx, p, systems, l, typesetter{music}, importWarnings(log))
	if err != nil {
		return nil, err
	}
	doc.trim()
	return doc, nil
}

// columnTall is how long a column may be, in mm: about two metres of music go into one
// picture.
const columnTall = 2000

// Column engraves a score for a screen: systems under one another, as wide as the paper of
// the layout, without title and foot, cut to the music. What is longer than two metres goes
// on in further pictures, which are cut as well.
func (g *Engraver) Column(ctx context.Context, musicxml []byte, l Layout) (*Document, error) {
	l.Title, l.HideFoot = Title{Hide: true}, true
	l.Paper.Height, l.Paper.Side, l.Paper.Top, l.Paper.Bottom = columnTall, 2*partMargin, partMargin, partMargin // a brace hangs out at the side
	if l.StaffHeight == 0 && !l.LargePrint {
		l.StaffHeight = 7 // it need not give way to save a page
	}
	doc, err := g.Pages(ctx, musicxml, l)
	if err != nil {
		return nil, err
	}
	doc.trim()
	return doc, nil
}

// trim cuts the pages to their music, with some room above and below.
func (d *Document) trim() {
	tops := make([]float64, len(d.pages))
	tall := 0.0
	for i := range d.pages {
		picture, top := d.cut(i)
		picture.H += 2 * partMargin
		picture.Root.Kids = []vector.Node{&vector.Group{At: vector.Translate(0, partMargin), Kids: picture.Root.Kids}}
		d.pages[i], tops[i] = picture, top
		tall = max(tall, picture.H)
	}
	d.layout.Paper.Height = tall
	lift := func(b Box) Box {
		b.Y -= tops[b.Page] - partMargin
		return b
	}
	for id, b := range d.Boxes {
		d.Boxes[id] = lift(b)
	}
	for i := range d.Systems {
		d.Systems[i] = lift(d.Systems[i])
	}
	for i := range d.Chords {
		d.Chords[i] = lift(d.Chords[i])
	}
}
