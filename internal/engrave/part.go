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
	doc, _, err := compose(ctx, p, systems, l, typesetter{music}, importWarnings(log))
	if err != nil {
		return nil, err
	}
	picture, top := doc.cut()
	lift := func(b Box) Box {
		b.Y -= top - partMargin
		return b
	}
	picture.H += 2 * partMargin
	picture.Root.Kids = []vector.Node{&vector.Group{At: vector.Translate(0, partMargin), Kids: picture.Root.Kids}}
	doc.pages = []*vector.Drawing{picture}
	doc.layout.Paper.Height = picture.H
	for id, b := range doc.Boxes {
		doc.Boxes[id] = lift(b)
	}
	for i := range doc.Systems {
		doc.Systems[i] = lift(doc.Systems[i])
	}
	for i := range doc.Chords {
		doc.Chords[i] = lift(doc.Chords[i])
	}
	return doc, nil
}
