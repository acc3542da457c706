package workbook

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gradatim/internal/engrave"
	"gradatim/internal/engrave/vector"
	"gradatim/internal/teach"
	"gradatim/internal/words"
)

// chords writes a card for each chord that a level is the first to have; those of the
// levels below are named with what they do here, and where their keys are.
func (b *book) chords(i int) {
	l := b.in.Lesson.Levels[i]
	if len(l.Chords) == 0 {
		return
	}
	var fresh, known []teach.ChordCard
	for _, c := range l.Chords {
		if _, ok := b.carded[c.Symbol]; ok {
			known = append(known, c)
		} else {
			fresh = append(fresh, c)
			b.carded[c.Symbol] = fmt.Sprintf("chord %d %s", i, c.Symbol)
		}
	}
	b.block = append(b.block, piece{keep: true, id: chordsID(i), draw: nothing})
	b.heading(1, b.say("chords"))
	n := b.columns + 1
	key := b.keySize(fresh, b.column(n))
	for k := 0; k < len(fresh); k += n {
		row := fresh[k:min(k+n, len(fresh))]
		for _, c := range row {
			b.block = append(b.block, piece{keep: true, id: b.carded[c.Symbol], draw: nothing})
		}
		b.add(b.across(row, n, func(c teach.ChordCard, x, width float64) []piece {
			return b.card(c, x, width, key)
		}))
	}
	if len(known) == 0 {
		return
	}
	b.heading(2, b.say("known-chords"))
	var items []func(x, width float64) []piece
	for _, c := range known {
		items = append(items, func(x, width float64) []piece {
			segs := []seg{{text: c.Symbol + ". ", face: b.bold}}
			for _, u := range c.Uses {
				segs = append(segs, seg{text: b.useName(u) + ". " + u.Why + " ", face: b.plain})
			}
			id := b.carded[c.Symbol]
			segs = append(segs, seg{text: b.say("keys-page", "Page", b.pageOf(id)), face: b.plain, to: id})
			return b.lines(para{x: x, width: width, gap: b.style.paragraph}, segs...)
		})
	}
	b.spread(items)
}

// useName tells what a chord is in its key and in which bars; the bars alone where the
// level has no numerals.
func (b *book) useName(u teach.ChordUse) string {
	bars := b.bars(u.Bars)
	switch {
	case u.Roman == "" && u.Function == "":
		return words.Upper(bars)
	case u.Function == "" || u.Function == u.Roman:
		return u.Roman + ", " + bars
	case u.Roman == "":
		return u.Function + ", " + bars
	}
	return b.say("use", "Roman", u.Roman, "Function", u.Function) + ", " + bars
}

func chordsID(level int) string { return fmt.Sprintf("chords %d", level) }

// across sets chords side by side.
func (b *book) across(cs []teach.ChordCard, columns int, one func(c teach.ChordCard, x, width float64) []piece) piece {
	width := b.column(columns)
	var out [][]piece
	for k, c := range cs {
		out = append(out, one(c, float64(k)*(width+b.between), width))
	}
	return beside(5, false, out...)
}

// column is the width of one of several columns.
func (b *book) column(columns int) float64 {
	return (b.full() - float64(columns-1)*b.between) / float64(columns)
}

// chief shows the kinds of chord that come most often among those that no level
// of the book below has.
func (b *book) chief(i int) {
	l := b.in.Lesson.Levels[i]
	if len(l.Chords) == 0 {
		return
	}
	kind := func(c teach.ChordCard) string {
		s := ""
		for _, t := range c.Tones {
			s += t.Degree + " "
		}
		return s
	}
	old := map[string]bool{}
	for _, below := range b.in.Lesson.Levels[:i] {
		for _, c := range below.Chords {
			old[kind(c)] = true
		}
	}
	often := func(c teach.ChordCard) int {
		n := 0
		for _, u := range c.Uses {
			n += len(u.Bars)
		}
		return n
	}
	var news []teach.ChordCard
	have := map[string]bool{}
	for _, c := range l.Chords {
		if k := kind(c); !old[k] && len(c.Keys) > 0 {
			news = append(news, c)
		}
	}
	slices.SortStableFunc(news, func(x, y teach.ChordCard) int { return cmp.Compare(often(y), often(x)) })
	news = slices.DeleteFunc(news, func(c teach.ChordCard) bool {
		k := kind(c)
		defer func() { have[k] = true }()
		return have[k]
	})
	n := b.columns + 1
	b.heading(1, b.say("chords"))
	text := b.say("every-chord", "Page", b.pageOf(chordsID(i)))
	if len(news) == 0 {
		b.paragraph(para{}, seg{text: text, face: b.plain, to: chordsID(i)})
		return
	}
	key := "new-chords"
	if len(news) > n {
		key = "chief-chords"
		news = news[:n]
	}
	var names []string
	for _, c := range news {
		names = append(names, c.Symbol)
	}
	b.paragraph(para{keep: true, loose: true}, seg{text: b.say(key, "Names", strings.Join(names, ", ")) + " ", face: b.plain}, seg{text: text, face: b.plain, to: chordsID(i)})
	size := b.keySize(news, b.column(n))
	b.add(b.across(news, n, func(c teach.ChordCard, x, width float64) []piece {
		out := []piece{b.symbolLine(c, x)}
		if p, ok := b.keyboard(c, x, size); ok {
			out = append(out, p)
		}
		return out
	}))
}

// card explains one chord: symbol, keyboard, tones, uses.
func (b *book) card(c teach.ChordCard, x, width, key float64) []piece {
	head := b.symbolLine(c, x)
	symbol := head.draw
	head.draw = func(y float64) []*vector.Group {
		line := &vector.Path{}
		line.MoveTo(b.paper.Side+x, y)
		line.LineTo(b.paper.Side+x+width, y)
		rule := &vector.Group{Kids: []vector.Node{&vector.Shape{Path: line, Stroke: vector.Ink, Width: 0.15}}}
		return append([]*vector.Group{rule}, symbol(y)...)
	}
	out := []piece{head}
	if p, ok := b.keyboard(c, x, key); ok {
		out = append(out, p)
	}
	if c.Chief() != nil {
		out = append(out, b.lines(para{x: x, width: width, gap: 1}, seg{text: b.asPlayed(c), face: b.lean})...)
	}
	var tones []string
	for _, t := range c.Tones {
		tones = append(tones, fmt.Sprintf("%s %s (%s)", t.Degree, t.Note, t.Name))
	}
	text := strings.Join(tones, ", ")
	if c.Bass != "" {
		text = b.say("in-bass", "Tones", text, "Note", c.Bass)
	}
	if text != "" {
		out = append(out, b.lines(para{x: x, width: width, gap: 1.5}, seg{text: text + ".", face: b.plain})...)
	}
	for _, u := range c.Uses {
		out = append(out, b.lines(para{x: x, width: width, gap: 1}, seg{text: b.useName(u), face: b.bold}, seg{text: ". " + u.Why, face: b.plain})...)
	}
	return out
}

// symbolLine is a chord symbol as a heading.
func (b *book) symbolLine(c teach.ChordCard, x float64) piece {
	size := b.h2
	return piece{height: size * 1.35, keep: true, draw: func(y float64) []*vector.Group {
		return []*vector.Group{{Tag: &vector.Tag{Role: "H3"}, Kids: []vector.Node{b.Symbol(c.Symbol, b.paper.Side+x, y+size*1.05, size)}}}
	}}
}

// keySize is the width of a white key with which the keyboards of all the chords
// fit a column: side by side they show what lies wide and what close.
func (b *book) keySize(cs []teach.ChordCard, width float64) float64 {
	key := b.keyWidth
	for _, c := range cs {
		p, err := b.keys(c, key)
		for try := 0; try < 4 && err == nil && p != nil; try++ { // labels beside the keys do not shrink with them
			w, _ := p.Size()
			if w <= width {
				break
			}
			key *= width / w * 0.995
			p, err = b.keys(c, key)
		}
	}
	return key
}

// keys draws the keys of a chord with its degrees, as a hand first plays it on the page,
// or else its notes in order; nil where it has none.
func (b *book) keys(c teach.ChordCard, key float64) (*engrave.Picture, error) {
	var keys []engrave.Key
	seen := map[int]bool{}
	shown := c.Chief()
	if shown == nil {
		shown = c.Keys
	}
	for _, k := range shown {
		if !seen[k.MIDI] {
			seen[k.MIDI] = true
			hand := map[string]engrave.KeyHand{"left": engrave.LeftHand, "right": engrave.RightHand}[k.Hand]
			keys = append(keys, engrave.Key{MIDI: k.MIDI, Label: k.Degree, Name: k.Note, Hand: hand})
		}
	}
	if len(keys) == 0 {
		return nil, nil
	}
	return engrave.Keyboard(keys, engrave.KeyboardOptions{WhiteWidth: key, LabelSize: b.body, Title: c.Symbol, Lang: b.words.ID()})
}

// asPlayed says where and with which fingers the page first plays a chord as it is shown.
func (b *book) asPlayed(c teach.ChordCard) string {
	shape := c.Chief()
	notes, fingers, all := teach.Spelled(shape)
	key := "as-played"
	if !all {
		key = "as-played-bare"
	}
	return b.say(key, "Bars", words.Bars{c.First}, "Hand", b.words.Say("lesson.hands."+shape[0].Hand), "Notes", notes, "Fingers", fingers)
}

// keyboard is the picture of a chord's keys.
func (b *book) keyboard(c teach.ChordCard, x, key float64) (piece, bool) {
	p, err := b.keys(c, key)
	if err != nil {
		b.lost(err, c.Symbol)
		return piece{}, false
	}
	if p == nil {
		return piece{}, false
	}
	d := p.Drawing()
	return piece{height: d.H, gap: 0.5, draw: func(y float64) []*vector.Group {
		return []*vector.Group{{At: vector.Translate(b.paper.Side+x, y), Kids: d.Root.Kids, Tag: &vector.Tag{Role: "Figure", Alt: c.Symbol + ". " + d.Description}}}
	}}, true
}
