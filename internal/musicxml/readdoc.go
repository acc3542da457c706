package musicxml

import (
	"encoding/xml"
	"fmt"
	"slices"
	"strings"

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
	level                    int // of a ladder, where the file says so
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
	text, ok := r.unpack(data)
	if !ok {
		return nil, false
	}
	c := newCursor(text)
	c.bar = -1
	p := &docParser{cursor: c, doc: &document{}, byID: map[string]*part{}, voices: map[string]string{}}
	p.parse()
	if c.err != nil {
		pos := c.err.pos
		pos.Bar = max(pos.Bar, 0)
		return nil, r.fail(pos, c.err.code, c.err.text, c.err.fix)
	}
	for _, n := range p.notes {
		r.warn(n.pos, n.code, n.text, n.fix)
	}
	if !p.found {
		return nil, r.fail(leadsheet.Pos{Line: 1}, "not-musicxml", "the file is not a MusicXML score", "export it as MusicXML")
	}
	return p.doc, true
}

// docParser turns elements into a document.
type docParser struct {
	*cursor
	doc    *document
	byID   map[string]*part
	voices map[string]string // each name once, so that notes share it
	events int
	found  bool
	notes  []fault // warnings
}

func (p *docParser) parse() {
	for p.err == nil {
		switch e := p.next().(type) {
		case xml.StartElement:
			p.found = true
			switch e.Name.Local {
			case "score-partwise":
				p.each(p.scoreChild)
			case "score-timewise":
				p.each(func(e xml.StartElement) {
					if e.Name.Local == "measure" {
						p.timewise(e)
						return
					}
					p.scoreChild(e)
				})
			default:
				p.fail("not-musicxml", fmt.Sprintf("the file is not a MusicXML score: it begins with <%s>", clip(e.Name.Local)), "export it as MusicXML")
			}
		case nil:
			return
		}
	}
}

func (p *docParser) scoreChild(e xml.StartElement) {
	switch e.Name.Local {
	case "work":
		p.each(func(e xml.StartElement) {
			switch e.Name.Local {
			case "work-title":
				p.doc.workTitle = oneLine(p.text())
			case "work-number":
				p.doc.workNumber = oneLine(p.text())
			}
		})
	case "movement-title":
		p.doc.movementTitle = oneLine(p.text())
	case "identification":
		p.identification()
	case "defaults":
		p.each(func(e xml.StartElement) {
			if e.Name.Local == "scaling" {
				p.scaling()
			}
		})
	case "credit":
		p.credit(e)
	case "part-list":
		p.each(func(e xml.StartElement) {
			if e.Name.Local == "score-part" {
				p.scorePart(e)
			}
		})
	case "part":
		id := attr(e, "id")
		if pt := p.byID[id]; pt != nil && len(pt.measures) > 0 { // an id used twice, or none
			delete(p.byID, id)
		}
		pt := p.part(id)
		p.each(func(e xml.StartElement) {
			if e.Name.Local == "measure" {
				p.measure(pt, e)
			}
		})
	}
}

func (p *docParser) identification() {
	p.each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "creator":
			if name := oneLine(p.text()); name != "" {
				p.doc.creators = append(p.doc.creators, creator{strings.ToLower(attr(e, "type")), name})
			}
		case "rights":
			if s := oneLine(p.text()); s != "" {
				p.doc.rights = append(p.doc.rights, s)
			}
		case "source":
			p.doc.source = oneLine(p.text())
		case "miscellaneous":
			p.each(func(e xml.StartElement) {
				switch attr(e, "name") {
				case "level":
					if n, ok := integer(p.text()); ok && n >= 1 && n <= 99 {
						p.doc.level = n
					}
				case "level-name":
					p.doc.levelName = clipTo(oneLine(p.text()), 100)
				case "pedal":
					if how := slices.Index(pedalWords[:], oneLine(p.text())); how > 0 {
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
	p.each(func(e xml.StartElement) {
		f, ok := parseDecimal(p.text())
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
	if n, ok := integer(attr(e, "page")); ok {
		c.page = n
	}
	p.each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "credit-type":
			c.kind = strings.ToLower(p.text())
		case "credit-words":
			if f, ok := parseDecimal(attr(e, "font-size")); ok {
				c.size = max(c.size, int(f.n*100/f.d))
			}
			if s := p.text(); s != "" {
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

func (p *docParser) scorePart(e xml.StartElement) {
	pt := p.part(attr(e, "id"))
	p.each(func(e xml.StartElement) {
		switch e.Name.Local {
		case "part-name":
			pt.name = oneLine(p.text())
		case "score-instrument":
			p.each(func(e xml.StartElement) {
				switch e.Name.Local {
				case "instrument-name", "instrument-sound":
					if len(pt.sounds) < 16 {
						pt.sounds = append(pt.sounds, oneLine(p.text()))
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
		p.fail("parts-too-many", fmt.Sprintf("the file has more than %d parts", maxParts), "")
		return &part{}
	}
	pt := &part{id: id, line: p.line}
	p.byID[id] = pt
	p.doc.parts = append(p.doc.parts, pt)
	return pt
}

// timewise reads a measure that holds the parts, instead of the other way
// round.
func (p *docParser) timewise(m xml.StartElement) {
	p.each(func(e xml.StartElement) {
		if e.Name.Local == "part" {
			p.measure(p.part(attr(e, "id")), m)
		}
	})
}

func (p *docParser) measure(pt *part, e xml.StartElement) {
	if len(pt.measures) >= maxBars {
		p.fail("bars-too-many", fmt.Sprintf("the music has more than %d bars", maxBars), "read it in parts")
		return
	}
	m := &measure{number: attr(e, "number"), implicit: attr(e, "implicit") == "yes", line: p.line}
	pt.measures = append(pt.measures, m)
	p.bar = len(pt.measures)
	p.each(func(e xml.StartElement) {
		it := p.item(e)
		if it == nil {
			return
		}
		if p.events++; p.events > maxNotes {
			p.fail("notes-too-many", fmt.Sprintf("the file has more than %d notes and signs", maxNotes), "")
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

func countMore(n int) string {
	if n == 1 {
		return "and once more"
	}
	return fmt.Sprintf("and %d times more", n)
}
