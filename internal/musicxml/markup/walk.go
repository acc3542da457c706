package markup

import (
	"encoding/xml"
)

// Visitor is told what a score is made of, in the order of the file. What a
// function leaves unread of its element is skipped; a nil function reads nothing.
type Visitor struct {
	Root func(e xml.StartElement) // the score itself; its children follow
	Head func(e xml.StartElement) // a child of the score that holds no music
	Part func(e xml.StartElement) // a part begins: where bars hold the parts, with its first bar
	// Measure is one bar of a part: its children follow. m is the element that
	// numbers the bar, whether it lies in the part or around it.
	Measure func(id string, m xml.StartElement)
}

// Walk reads a score part by part or bar by bar, as it is written, and tells the
// visitor the same of both. A document that is no score is an Error.
func (c *Cursor) Walk(v Visitor) {
	found := false
	for c.err == nil {
		switch e := c.Next().(type) {
		case xml.StartElement:
			if found {
				c.Fail("xml-syntax.roots")
				return
			}
			found = true
			c.root(e, v)
		case nil:
			if !found && c.err == nil {
				c.Fail("not-musicxml.empty")
			}
			return
		}
	}
}

func (c *Cursor) root(e xml.StartElement, v Visitor) {
	tell := func(f func(xml.StartElement), e xml.StartElement) {
		if f != nil {
			f(e)
		}
	}
	measure := func(id string, m xml.StartElement) {
		if v.Measure != nil {
			v.Measure(id, m)
		}
	}
	begun := map[string]bool{}
	name := e.Name.Local
	switch name {
	case "score-partwise", "score-timewise":
		tell(v.Root, e)
	case "opus":
		c.Fail("not-musicxml.list")
		return
	default:
		c.Fail("not-musicxml.other", "Root", short(name))
		return
	}
	c.Each(func(e xml.StartElement) {
		switch {
		case name == "score-partwise" && e.Name.Local == "part":
			tell(v.Part, e)
			c.Each(func(m xml.StartElement) {
				if m.Name.Local == "measure" {
					measure(Attr(e, "id"), m)
				}
			})
			c.Bar = 0
		case name == "score-timewise" && e.Name.Local == "measure":
			c.Each(func(p xml.StartElement) {
				if p.Name.Local != "part" {
					return
				}
				id := Attr(p, "id")
				if !begun[id] {
					begun[id] = true
					tell(v.Part, p)
				}
				measure(id, e)
			})
			c.Bar = 0
		default:
			tell(v.Head, e)
		}
	})
}

// short clips what is quoted in a message.
func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return s
}
