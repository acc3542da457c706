package engrave

import (
	"strings"

	"gradatim/internal/engrave/vector"
)

// Sizes of text on the page, mm of the em; large print has half as much more.
// 7.1 mm are 20 points.
const (
	titleSize    = 7.1
	subtitleSize = 4.2
	nameSize     = 3.9
	tempoSize    = 4.2
	footSize     = 3
)

// head is the title block.
type head struct {
	group  *vector.Group
	height float64 // from the upper margin to where the first system may begin
}

func (c *composer) textScale() float64 {
	if c.l.LargePrint {
		return 1.5
	}
	return 1
}

func (c *composer) head() head {
	t := c.title
	if t.Hide {
		return head{}
	}
	k := c.textScale()
	g := &vector.Group{Class: "title-block"}
	w := c.l.Paper.Width
	full := w - 2*c.l.Paper.Side
	y := c.l.Paper.Top
	if t.Title != "" {
		lines, size := c.fit(t.Title, titleSize*k, vector.Bold, full, 3)
		for _, s := range lines {
			y += size * 1.05
			g.Add(&vector.Group{Class: "title", Kids: []vector.Node{c.ts.line(s, w/2, y, size, vector.Bold, vector.Middle)}})
		}
	}
	if t.Subtitle != "" {
		lines, size := c.fit(t.Subtitle, subtitleSize*k, vector.Italic, full, 2)
		for i, s := range lines {
			y += size * 1.3
			if i == 0 {
				y += size * 0.25
			}
			g.Add(&vector.Group{Class: "subtitle", Kids: []vector.Node{c.ts.line(s, w/2, y, size, vector.Italic, vector.Middle)}})
		}
	}
	// Names on the right; the tempo on the left, level with the last of them.
	half := full * 0.58
	if t.Tempo == "" {
		half = full
	}
	for _, name := range []struct{ class, text string }{{"composer", t.Composer}, {"arranger", t.Arranger}} {
		if name.text == "" {
			continue
		}
		lines, size := c.fit(name.text, nameSize*k, vector.Regular, half, 2)
		for _, s := range lines {
			y += size * 1.3
			g.Add(&vector.Group{Class: name.class, Kids: []vector.Node{c.ts.line(s, w-c.l.Paper.Side, y, size, vector.Regular, vector.End)}})
		}
	}
	if t.Tempo != "" {
		lines, size := c.fit(t.Tempo, tempoSize*k, vector.Bold, full*0.4, 1)
		if t.Composer == "" && t.Arranger == "" {
			y += size * 1.3
		}
		g.Add(&vector.Group{Class: "tempo", Kids: []vector.Node{c.tempo(lines[0], c.l.Paper.Side, y, size)}})
	}
	if len(g.Kids) == 0 {
		return head{}
	}
	return head{g, y - c.l.Paper.Top + 5*k}
}

// tempo sets a tempo mark; its note values come from the music font.
func (c *composer) tempo(s string, x, y, size float64) *vector.Text {
	glyph := map[rune]string{'♩': "\uECA5", '♪': "\uECA7", '𝅗': "\uECA3"}
	t := &vector.Text{X: x, Y: y, Plain: s, Outlined: true}
	var run strings.Builder
	flush := func() {
		t.Spans = append(t.Spans, c.ts.spans(run.String(), size, 0, vector.Bold)...)
		run.Reset()
	}
	for _, r := range s {
		gl, ok := glyph[r]
		if !ok {
			run.WriteRune(r)
			continue
		}
		flush()
		t.Spans = append(t.Spans, vector.Span{Text: gl, Size: 1.4 * size, Music: c.ts.music, Fill: vector.Ink, Space: 0.08 * size})
	}
	flush()
	return t
}

// fit sets a text in lines of a width: smaller, down to seven tenths, then in
// more lines, then cut.
func (c *composer) fit(s string, size float64, face vector.Face, width float64, most int) ([]string, float64) {
	s = strings.Join(strings.Fields(s), " ")
	measure := func(s string, size float64) float64 { return c.ts.line(s, 0, 0, size, face, vector.Start).Width() }
	if w := measure(s, size); w <= width {
		return []string{s}, size
	} else if w*0.7 <= width {
		return []string{s}, size * width / w
	}
	size *= 0.75
	wrap := func(width float64) (lines []string) {
		line := ""
		for word := range strings.FieldsSeq(s) {
			if line != "" && measure(line+" "+word, size) > width {
				lines = append(lines, line)
				line = word
				continue
			}
			line = strings.TrimSpace(line + " " + word)
		}
		return append(lines, line)
	}
	lines := wrap(width)
	for narrow := width * 0.95; narrow > width/2; narrow *= 0.95 { // lines of like length
		less := wrap(narrow)
		if len(less) > len(lines) {
			break
		}
		lines = less
	}
	if len(lines) > most {
		lines = lines[:most]
		lines[most-1] += " …"
	}
	for i, l := range lines {
		r := []rune(l)
		for len(r) > 1 && measure(string(r), size) > width {
			r = append(r[:len(r)-2], '…')
		}
		lines[i] = string(r)
	}
	return lines, size
}

// foot makes the foot of a page, the running foot and on the first page the
// rights above it, and returns how high on the page it begins.
func (c *composer) foot(page, pages int) (g *vector.Group, top float64) {
	g = &vector.Group{Class: "foot"}
	k := c.textScale()
	size := footSize * k
	p := c.l.Paper
	y := p.Height - p.Bottom*0.75
	of := c.l.words.Say("sheet.page", "n", page+1, "Of", pages)
	left := c.l.Foot
	if left == "" {
		left = c.title.Title
		if c.title.Subtitle != "" {
			left = strings.TrimPrefix(left+" · "+c.title.Subtitle, " · ")
		}
	}
	g.Add(c.ts.line(of, p.Width-p.Side, y, size, vector.Regular, vector.End))
	full := p.Width - 2*p.Side
	if left != "" {
		lines, s := c.fit(left, size, vector.Regular, full*0.75, 1)
		g.Add(c.ts.line(lines[0], p.Side, y, s, vector.Regular, vector.Start))
	}
	top = y - size
	if rights := c.title.Rights; rights != "" && page == 0 && !c.title.Hide {
		lines, s := c.fit(rights, size, vector.Regular, full, 3)
		for i := len(lines) - 1; i >= 0; i-- {
			g.Add(&vector.Group{Class: "rights", Kids: []vector.Node{
				c.ts.line(lines[i], p.Width/2, y-size*1.7-float64(len(lines)-1-i)*s*1.25, s, vector.Regular, vector.Middle)}})
		}
		top -= size*1.7 + float64(len(lines)-1)*s*1.25
	}
	return g, top
}
