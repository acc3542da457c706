package engrave

import (
	"context"
	"fmt"
	"slices"

	"gradatim/internal/engrave/vector"
	"gradatim/leadsheet"
)

// Box is a place on a page, in millimetres from its upper left corner; the
// units of the SVG's viewBox are the same.
type Box struct {
	Page       int // counted from 0
	X, Y, W, H float64
}

// Document is an engraved score. It does not change, and may be used by many
// goroutines at once.
type Document struct {
	// Boxes gives the place of every note (its head), rest and bar (its
	// staves) that has an id in the score. A bar without one is "bar-" and its
	// place in the score, counted from 1.
	Boxes map[string]Box
	// Systems gives the places of the systems with all that belongs to them. In
	// SVG each is a group of class "system", in this order.
	Systems []Box
	// Chords gives the places of the chord symbols, in order of reading.
	Chords []Box
	// Warnings says what could not be printed.
	Warnings leadsheet.Problems

	pages  []*vector.Drawing
	marks  []vector.Bookmark
	layout Layout
	title  Title
	costs  pageCost // of the systems as they are drawn
	bars   int      // of the score
	begins []int    // the bar that each system begins with, by index
}

// Pages returns the number of pages, at least one.
func (d *Document) Pages() int { return len(d.pages) }

// Size returns the width and height of the pages in millimetres.
func (d *Document) Size() (w, h float64) { return d.layout.Paper.Width, d.layout.Paper.Height }

// Ink returns the smallest box around everything that is drawn on a page,
// counted from 0 and below Pages: for pictures that are cut to what they show.
func (d *Document) Ink(page int) Box {
	r := d.pages[page].Root.Bounds(vector.Identity)
	return Box{page, r.X0, r.Y0, r.W(), r.H()}
}

// SVG returns a page, counted from 0 and below Pages: one self-contained file.
// Notes, rests and bars are groups with their ids.
func (d *Document) SVG(page int) []byte {
	return d.pages[page].SVG(vector.SVGOptions{Prefix: fmt.Sprintf("%s%d", d.layout.IDPrefix, page+1)})
}

// PNG returns a page, counted from 0, as a picture of 1 to 2400 dots per inch.
func (d *Document) PNG(page int, dpi float64) ([]byte, error) {
	if page < 0 || page >= len(d.pages) {
		return nil, fmt.Errorf("engrave: no page %d of %d", page+1, len(d.pages))
	}
	return d.pages[page].PNG(dpi)
}

// PDF returns all pages as one file. The same score and layout give the same
// bytes.
func (d *Document) PDF(ctx context.Context) ([]byte, error) { return Book(ctx, BookMeta{}, d) }

// BookMeta describes a PDF file of several scores.
type BookMeta struct {
	Title    string // empty: the first score's
	Author   string // empty: the first score's composer
	Subject  string
	Keywords string
}

// Book returns scores one after the other as one PDF file, with an entry in
// its outline for each and for the rehearsal marks in it.
func Book(ctx context.Context, meta BookMeta, docs ...*Document) ([]byte, error) {
	if len(docs) == 0 {
		return nil, fmt.Errorf("engrave: a book without scores")
	}
	m := vector.PDFMeta{Title: meta.Title, Author: meta.Author, Subject: meta.Subject, Keywords: meta.Keywords, Lang: docs[0].layout.Lang}
	if m.Title == "" {
		m.Title = docs[0].name()
	}
	if m.Author == "" {
		m.Author = docs[0].title.Composer
	}
	var pages []*vector.Drawing
	for _, d := range docs {
		m.Bookmarks = append(m.Bookmarks, vector.Bookmark{Text: d.name(), Page: len(pages)})
		for _, b := range d.marks {
			b.Page += len(pages)
			m.Bookmarks = append(m.Bookmarks, b)
		}
		pages = append(pages, d.pages...)
	}
	return vector.PDF(ctx, pages, m)
}

// name is the title with the subtitle.
func (d *Document) name() string {
	t := d.title.Title
	if t == "" {
		t = d.layout.words.Say("sheet.score")
	}
	if d.title.Subtitle != "" {
		t += ", " + d.title.Subtitle
	}
	return t
}

// sparse tells whether the last of several pages is less than half full.
func (d *Document) sparse() bool {
	last, low := d.Pages()-1, 0.0
	for _, b := range d.Systems {
		if b.Page == last {
			low = max(low, b.Y+b.H)
		}
	}
	return last > 0 && low < d.layout.Paper.Height/2
}

// fewer tells whether the bars, with systems beginning at others and staves of another size,
// could stand on fewer pages. A system is guessed to be halfway between as high as those that
// its bars stand in are on the whole and as high as the highest of them.
func (d *Document) fewer(starts []int, size float64) bool {
	c := d.costs
	c.heights, c.phrase = nil, nil
	k := 0
	for i, from := range starts {
		to := d.bars
		if i+1 < len(starts) {
			to = starts[i+1]
		}
		sum, high := 0.0, 0.0
		for bar := from; bar < to; bar++ {
			for k+1 < len(d.begins) && d.begins[k+1] <= bar {
				k++
			}
			sum, high = sum+d.costs.heights[k], max(high, d.costs.heights[k])
		}
		c.heights = append(c.heights, size*(sum/float64(to-from)+high)/2)
		was := slices.Index(d.begins, from)
		c.phrase = append(c.phrase, was >= 0 && d.costs.phrase[was])
	}
	c.gap, c.ideal = size*c.gap, size*c.ideal
	return len(c.plan()) < d.Pages()
}

// roomy tells whether the systems, at a factor of their size, could stand on the same pages
// as well apart as they look best.
func (d *Document) roomy(size float64) bool {
	c := d.costs
	c.heights = slices.Clone(c.heights)
	for i := range c.heights {
		c.heights[i] *= size
	}
	c.ideal *= size
	c.gap = c.ideal
	return c.fits(d.costs.plan())
}
