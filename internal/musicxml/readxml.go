package musicxml

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"gradatim/leadsheet"
)

// cursor walks the elements of a document. It checks what the raw tokens do not
// (nesting, size) and keeps the first error; after one, every call comes back
// empty-handed, so that callers need no checks of their own.
type cursor struct {
	dec      *xml.Decoder
	open     []string
	elements int
	line     int // of the last start tag
	bar      int // number of the bar being read, for messages; −1 before the first
	err      *fault
}

// fault is what went wrong in the text.
type fault struct {
	pos             leadsheet.Pos
	code, text, fix string
}

func newCursor(data []byte) *cursor {
	if f := scan(data); f != nil {
		return &cursor{err: f}
	}
	dec := xml.NewDecoder(bytes.NewReader(data))
	dec.CharsetReader = sameCharset
	dec.Entity = xml.HTMLEntity // the MusicXML DTDs declare the Latin ones
	return &cursor{dec: dec}
}

func (c *cursor) fail(code, text, fix string) {
	if c.err == nil {
		line, col := c.dec.InputPos()
		c.err = &fault{leadsheet.Pos{Line: line, Col: col, Bar: c.bar}, code, text, fix}
	}
}

// next returns the next start tag, end tag or text; nil at the end and after an
// error.
func (c *cursor) next() xml.Token {
	for c.err == nil {
		tok, err := c.dec.RawToken()
		if err != nil {
			c.syntax(err)
			return nil
		}
		switch t := tok.(type) {
		case xml.StartElement:
			if c.elements++; c.elements > maxElements {
				c.fail("xml-too-large", fmt.Sprintf("the file has more than %d elements", maxElements), "")
				return nil
			}
			if len(c.open) >= maxDepth {
				c.fail("xml-too-deep", fmt.Sprintf("elements lie more than %d deep inside one another", maxDepth), "")
				return nil
			}
			c.open = append(c.open, t.Name.Local)
			c.line, _ = c.dec.InputPos()
			return t
		case xml.EndElement:
			if len(c.open) == 0 || c.open[len(c.open)-1] != t.Name.Local {
				text := fmt.Sprintf("</%s> closes nothing", t.Name.Local)
				if len(c.open) > 0 {
					text = fmt.Sprintf("<%s> is closed by </%s>", c.open[len(c.open)-1], t.Name.Local)
				}
				c.fail("xml-syntax", text, "")
				return nil
			}
			c.open = c.open[:len(c.open)-1]
			return t
		case xml.CharData:
			return t
		}
	}
	return nil
}

func (c *cursor) syntax(err error) {
	var se *xml.SyntaxError
	switch {
	case errors.Is(err, io.EOF) && len(c.open) == 0:
		return
	case errors.Is(err, io.EOF), errors.As(err, &se) && se.Msg == "unexpected EOF":
		c.fail("xml-truncated", "the file ends in the middle of the music", "fetch or export it again")
	case errors.As(err, &se):
		c.fail("xml-syntax", "the XML is malformed: "+se.Msg, "export the score again")
	default:
		c.fail("xml-syntax", "the XML cannot be read: "+err.Error(), "export the score again")
	}
}

// each visits the children of the element whose start tag was read last; what
// visit leaves unread of a child is skipped.
func (c *cursor) each(visit func(e xml.StartElement)) {
	base := len(c.open)
	for c.err == nil {
		switch t := c.next().(type) {
		case xml.StartElement:
			visit(t)
			for c.err == nil && len(c.open) > base {
				c.next()
			}
		case xml.EndElement:
			return
		case nil:
			return
		}
	}
}

// text reads the text of the element whose start tag was read last, without
// surrounding space.
func (c *cursor) text() string {
	base := len(c.open)
	var b strings.Builder
	for c.err == nil {
		switch t := c.next().(type) {
		case xml.CharData:
			if len(c.open) > base { // inside a child
				continue
			}
			b.Write(t)
		case xml.EndElement:
			if len(c.open) < base {
				return strings.TrimSpace(b.String())
			}
		case nil:
			return ""
		}
	}
	return ""
}

// attr returns an attribute, "" where it is absent.
func attr(e xml.StartElement, name string) string {
	v, _ := attrSet(e, name)
	return v
}

func attrSet(e xml.StartElement, name string) (string, bool) {
	for _, a := range e.Attr {
		if a.Name.Local == name && (a.Name.Space == "" || a.Name.Space == "xml") {
			return a.Value, true
		}
	}
	return "", false
}

// integer reads a whole number; numbers such as "4.0" occur.
func integer(s string) (int, bool) {
	if n, err := strconv.ParseInt(s, 10, 32); err == nil {
		return int(n), true
	}
	whole, part, found := strings.Cut(s, ".")
	if !found || strings.Trim(part, "0") != "" {
		return 0, false
	}
	n, err := strconv.ParseInt(whole, 10, 32)
	return int(n), err == nil
}
