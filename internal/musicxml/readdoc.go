package musicxml

import (
	"encoding/xml"
	"slices"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
	"gradatim/score"
)

// document is a score file as it is written: header and parts, without any
// reading of what it means.
type document struct {
	workTitle, movementTitle string
	workNumber               string
	creators                 []creator
	rights                   []string
	source                   string
	credits                  []credit
	verses                   []string // lines below the music
	level                    int      // of a ladder, where the file says so
	levelName                string
	staffHeight              int // tenths of a millimetre; 0: not said
	pedal                    score.Pedalling
	parts                    []*part
}

type creator struct{ role, name string }

type credit struct {
	kind  string // "title", "subtitle", "composer" …; may be empty
	words string
	size  int // font size in hundredths of a point; 0 unknown
	page  int
}

type part struct {
	id, name string
	sounds   []string // instrument names and sounds
	line     int
	measures []*measure
}

type measure struct {
	number   string
	implicit bool
	line     int
	items    []item
}

// document reads the whole file.
func (r *reader) document(data []byte) (*document, bool) {
	text, told := markup.Text(data)
	if !r.passOn(told) {
		return nil, false
	}
	p := &docParser{Cursor: markup.NewCursor(text), doc: &document{}, byID: map[string]*part{}, voices: map[string]string{}, verses: map[string]int{}}
	p.Walk(markup.Visitor{Head: p.scoreChild, Part: p.beginPart, Measure: p.measure})
	if err := p.Err(); err != nil {
		return nil, r.passOn(leadsheet.Problems{*err})
	}
	return p.doc, true
}

// docParser turns elements into a document.
type docParser struct {
	*markup.Cursor
	doc    *document
	byID   map[string]*part
	verses map[string]int    // by number as written
	voices map[string]string // each name once, so that notes share it
	events int
}

func (p *docParser) scoreChild(e xml.StartElement) {
	switch e.Name.Local {
	case "work":
		p.Each(func(e xml.StartElement) {
			switch e.Name.Local {
			case "work-title":
				p.doc.workTitle = oneLine(p.Text())
			case "work-number":
				p.doc.workNumber = oneLine(p.Text())
			}
		})
	case "movement-title":
		p.doc.movementTitle = oneLine(p.Text())
	case "identification":
		p.identification()
	case "defaults":
		p.Each(func(e xml.StartElement) {
			if e.Name.Local == "scaling" {
				p.scaling()
			}
		})
	case "credit":
		p.credit(e)
	case "part-list":
		p.Each(func(e xml.StartElement) {
			if e.Name.Local == "score-part" {
				p.scorePart(e)
			}
		})
	}
}

// beginPart begins a part; an id that is used twice, or not at all, names
// another part the second time.
func (p *docParser) beginPart(e xml.StartElement) {
	id := markup.Attr(e, "id")
	if pt := p.byID[id]; pt != nil && len(pt.measures) > 0 {
		delete(p.byID, id)
	}
	p.part(id)
}

func (p *docParser) identification() {
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "creator":
			if name := oneLine(p.Text()); name != "" {
				p.doc.creators = append(p.doc.creators, creator{strings.ToLower(markup.Attr(e, "type")), name})
			}
		case "rights":
			if s := oneLine(p.Text()); s != "" {
				p.doc.rights = append(p.doc.rights, s)
			}
		case "source":
			p.doc.source = oneLine(p.Text())
		case "miscellaneous":
			p.Each(func(e xml.StartElement) {
				switch markup.Attr(e, "name") {
				case "level":
					if n, ok := markup.Integer(p.Text()); ok && n >= 1 && n <= 99 {
						p.doc.level = n
					}
				case "level-name":
					p.doc.levelName = clipTo(oneLine(p.Text()), 100)
				case "pedal":
					if how := slices.Index(pedalWords[:], oneLine(p.Text())); how > 0 {
						p.doc.pedal = score.Pedalling(how)
					}
				}
			})
		}
	})
}

// scaling reads the height of the staff: how many millimetres 40 tenths, four staff spaces, take.
func (p *docParser) scaling() {
	var mm, tenths frac
	p.Each(func(e xml.StartElement) {
		f, ok := parseDecimal(p.Text())
		switch {
		case !ok:
		case e.Name.Local == "millimeters":
			mm = f
		case e.Name.Local == "tenths":
			tenths = f
		}
	})
	if mm.n <= 0 || tenths.n <= 0 {
		return
	}
	if h := int(mm.n * tenths.d * 400 / (mm.d * tenths.n)); h >= 30 && h <= 140 {
		p.doc.staffHeight = h
	}
}

func (p *docParser) credit(e xml.StartElement) {
	c := credit{page: 1}
	if n, ok := markup.Integer(markup.Attr(e, "page")); ok {
		c.page = n
	}
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "credit-type":
			c.kind = strings.ToLower(p.Text())
		case "credit-words":
			if f, ok := parseDecimal(markup.Attr(e, "font-size")); ok {
				c.size = max(c.size, int(f.n*100/f.d))
			}
			if c.kind == wordsCredit {
				if len(p.doc.verses) < maxVerseLines {
					p.doc.verses = append(p.doc.verses, oneLine(p.Text()))
				}
				return
			}
			if s := p.Text(); s != "" {
				if c.words != "" {
					c.words += " "
				}
				c.words += oneLine(s)
			}
		}
	})
	if c.words != "" && len(p.doc.credits) < 100 {
		p.doc.credits = append(p.doc.credits, c)
	}
}

// maxVerseLines is more lines of verses than a page holds.
const maxVerseLines = 1000

func (p *docParser) scorePart(e xml.StartElement) {
	pt := p.part(markup.Attr(e, "id"))
	p.Each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "part-name":
			pt.name = oneLine(p.Text())
		case "score-instrument":
			p.Each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "instrument-name", "instrument-sound":
					if len(pt.sounds) < 16 {
						pt.sounds = append(pt.sounds, oneLine(p.Text()))
					}
				}
			})
		}
	})
}

// part returns the part with an id, new where it is the first time.
func (p *docParser) part(id string) *part {
	if pt := p.byID[id]; pt != nil {
		return pt
	}
	if len(p.doc.parts) >= maxParts {
		p.Fail("parts-too-many", "Most", maxParts)
		return &part{}
	}
	pt := &part{id: id, line: p.Line}
	p.byID[id] = pt
	p.doc.parts = append(p.doc.parts, pt)
	return pt
}

func (p *docParser) measure(id string, e xml.StartElement) {
	pt := p.part(id)
	if len(pt.measures) >= maxBars {
		p.Fail("bars-too-many", "Most", maxBars)
		return
	}
	m := &measure{number: markup.Attr(e, "number"), implicit: markup.Attr(e, "implicit") == "yes", line: p.Line}
	pt.measures = append(pt.measures, m)
	p.Bar = len(pt.measures)
	p.Each(func(e xml.StartElement) {
		it := p.item(e)
		if it == nil {
			return
		}
		if p.events++; p.events > maxNotes {
			p.Fail("notes-too-many", "Most", maxNotes)
			return
		}
		m.items = append(m.items, it)
	})
}

// oneLine joins the lines of a text.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// clip shortens what is quoted in a message.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return s
}
