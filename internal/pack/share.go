package pack

import (
	"context"
	"math"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
	"gradatim/internal/musicxml"
	"gradatim/score"
)

// A lesson that is passed on shows itself by a picture of its title and first bars, and by
// what the Open Graph protocol (ogp.me, read from memory) calls title, type, url, image and
// description. Its addresses are whole ones, so without one in the lesson file there is the
// picture alone, to be sent along.

// previewName is the picture.
const previewName = "preview.png"

// The size that is common for such pictures, 1200 by 630 pixels, laid out at a tenth of a
// millimetre for each (common practice, no source).
const (
	previewWide, previewHigh = 120.0, 63.0
	previewDPI               = 254
	previewSide              = 6.0
)

// shareView is what the first page says of itself to whoever shows a link to it.
type shareView struct {
	Title, About, Site string
	URL, Image, Alt    string // with an address; "" without
	Width, Height      int
}

// share says it.
func (s *site) share(title string) *shareView {
	levels := s.in.Editions[0].Lesson.Levels
	v := &shareView{Title: title, Site: s.in.Own.Imprint.Studio, Width: previewWide * 10, Height: previewHigh * 10}
	switch n := len(levels); {
	case n == 1:
		v.About = s.say("share.one", "Level", s.label(levels[0]))
	case n > 1:
		v.About = s.say("share.many", "First", s.label(levels[0]), "Last", s.label(levels[n-1]))
	}
	if address := s.in.Own.Imprint.Address; address != "" {
		if i := strings.LastIndexByte(address, '/'); strings.HasSuffix(address, ".html") && i > 0 {
			address = address[:i]
		}
		v.URL, v.Image, v.Alt = s.in.Own.Imprint.Address, strings.TrimSuffix(address, "/")+"/"+previewName, s.say("share.alt", "Title", title)
	}
	return v
}

// preview is the picture as a part: of the first level's page, its tune's first bars.
func (s *site) preview() (part, bool, error) {
	pages := s.in.Editions[0].Pages
	if len(pages) == 0 {
		return part{}, false, nil
	}
	cuts, err := firstBars(pages[0].Printed)
	if err != nil {
		return part{}, false, err
	}
	composers := s.people(s.in.Song.Rights.Composers)
	if composers == "" {
		composers = strings.Join(s.in.Editions[0].Lesson.Composers, ", ")
	}
	name := title(s.in, s.words)
	in, err := s.inputs(name, composers, cuts)
	if err != nil {
		return part{}, false, err
	}
	return part{"preview picture", []string{previewName}, in, func(ctx context.Context, w *workshop, _ func(float64)) ([]made, error) {
		var out []byte
		err := w.do(ctx, func() (err error) {
			out, err = drawPreview(ctx, w.tools.Engraver, name, composers, cuts, s.in.Language)
			return err
		})
		return []made{{previewName, out}}, err
	}}, true, nil
}

// firstBars are the beginning of a tune as MusicXML, three bars and, should they be too wide,
// fewer; a pick-up is not counted.
func firstBars(s score.Score) ([]string, error) {
	from := 0
	for from < len(s.Bars) && s.Bars[from].Part == score.Introduction {
		from++
	}
	if from == len(s.Bars) {
		from = 0
	}
	var out []string
	for n := 3; n >= 1; n-- {
		to := from + n - 1
		if s.Bars[from].Pickup {
			to++
		}
		xml, err := musicxml.Write(s.Excerpt(from, min(to, len(s.Bars)-1)))
		if err != nil {
			return nil, err
		}
		out = append(out, string(xml))
	}
	return out, nil
}

// drawPreview sets title and makers over the music, as large as all fit.
func drawPreview(ctx context.Context, g *engrave.Engraver, title, by string, cuts []string, language string) ([]byte, error) {
	set, err := g.Setter(ctx)
	if err != nil {
		return nil, err
	}
	wide := previewWide - 2*previewSide
	line := func(text string, y, size float64, face vector.Face) *vector.Text {
		t := set.Line(text, 0, y, size, face)
		if w := t.Width(); w > wide {
			t = set.Line(text, 0, y, size*wide/w, face)
		}
		t.X, t.Anchor = previewWide/2, vector.Middle
		return t
	}
	d := &vector.Drawing{W: previewWide, H: previewHigh, Title: title, Lang: language}
	d.Root.Add(line(title, 13, 8, vector.Bold))
	top := 17.0
	if by != "" {
		d.Root.Add(line(by, 20, 4, vector.Regular))
		top = 23
	}
	const most, least = 1.25, 0.65 // of the size in print: to be read on a phone
	for i, xml := range cuts {
		doc, err := g.Part(ctx, []byte(xml), engrave.Layout{StaffHeight: 7, Lang: language})
		if err != nil {
			return nil, err
		}
		m := doc.Music(0)
		k := min(most, wide/m.W, (previewHigh-top-4)/m.H)
		if k < least && i < len(cuts)-1 {
			continue
		}
		x, y := (previewWide-k*m.W)/2, top+math.Max(0, previewHigh-top-4-k*m.H)/2
		d.Root.Add(&vector.Group{At: vector.Translate(x, y).Mul(vector.Scale(k, k)), Kids: m.Root.Kids})
		break
	}
	return d.PNG(previewDPI)
}
