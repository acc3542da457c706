package markup

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"

	"gradatim/leadsheet"
)

// Cursor walks the elements of a document. It checks what the raw tokens do not
// (nesting, size) and keeps the first error; after one, every call comes back
// empty-handed, so that callers need no checks of their own.
type Cursor struct {
	Line, Col int // where the last start tag begins
	Bar       int // number of the bar being read, for messages; 0 outside one

	dec      *xml.Decoder
	open     []string
	elements int
	err      *leadsheet.Problem
}

// NewCursor returns a cursor before the first element of a UTF-8 text.
func NewCursor(text []byte) *Cursor {
	if p := scan(text); p != nil {
		return &Cursor{err: p}
	}
	dec := xml.NewDecoder(bytes.NewReader(text))
	dec.CharsetReader = sameCharset
	dec.Entity = xml.HTMLEntity // the MusicXML DTDs declare the Latin ones
	return &Cursor{dec: dec}
}

// Err returns the first error, nil if there is none.
func (c *Cursor) Err() *leadsheet.Problem { return c.err }

// Fail stops the reading with an Error at the present place.
func (c *Cursor) Fail(says leadsheet.Saying, parts ...any) {
	if c.err == nil {
		line, col := c.dec.InputPos()
		p := leadsheet.Tell(leadsheet.Error, leadsheet.Pos{Line: line, Col: col, Bar: c.Bar}, says, parts...)
		c.err = &p
	}
}

// Next returns the next start tag, end tag or text; nil at the end and after an
// error. A text is valid until the next call.
func (c *Cursor) Next() xml.Token {
	for c.err == nil {
		line, col := c.dec.InputPos()
		tok, err := c.dec.RawToken()
		if err != nil {
			c.syntax(err)
			return nil
		}
		switch t := tok.(type) {
		case xml.StartElement:
			if c.elements++; c.elements > maxElements {
				c.Fail("xml-too-large", "Most", maxElements)
				return nil
			}
			if len(c.open) >= maxDepth {
				c.Fail("xml-too-deep", "Most", maxDepth)
				return nil
			}
			c.open = append(c.open, t.Name.Local)
			c.Line, c.Col = line, col
			return t
		case xml.EndElement:
			if len(c.open) == 0 || c.open[len(c.open)-1] != t.Name.Local {
				if len(c.open) > 0 {
					c.Fail("xml-syntax.crossed", "Begin", c.open[len(c.open)-1], "End", t.Name.Local)
				} else {
					c.Fail("xml-syntax.stray", "End", t.Name.Local)
				}
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

func (c *Cursor) syntax(err error) {
	var se *xml.SyntaxError
	switch {
	case errors.Is(err, io.EOF) && len(c.open) == 0:
		return
	case errors.Is(err, io.EOF), errors.As(err, &se) && se.Msg == "unexpected EOF":
		c.Fail("xml-truncated")
	case errors.As(err, &se):
		c.Fail("xml-syntax.malformed", "Error", se.Msg)
	default:
		c.Fail("xml-syntax.unreadable", "Error", err.Error())
	}
}

// Each visits the children of the element whose start tag was read last; what
// visit leaves unread of a child is skipped.
func (c *Cursor) Each(visit func(e xml.StartElement)) {
	base := len(c.open)
	for c.err == nil {
		switch t := c.Next().(type) {
		case xml.StartElement:
			visit(t)
			for c.err == nil && len(c.open) > base {
				c.Next()
			}
		case xml.EndElement:
			return
		case nil:
			return
		}
	}
}

// Text reads the text of the element whose start tag was read last, without
// surrounding space.
func (c *Cursor) Text() string {
	base := len(c.open)
	var b strings.Builder
	for c.err == nil {
		switch t := c.Next().(type) {
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

// Attr returns an attribute, "" where it is absent.
func Attr(e xml.StartElement, name string) string {
	v, _ := AttrSet(e, name)
	return v
}

// AttrSet returns an attribute, and whether it is there.
func AttrSet(e xml.StartElement, name string) (string, bool) {
	for _, a := range e.Attr {
		if a.Name.Local == name && (a.Name.Space == "" || a.Name.Space == "xml") {
			return a.Value, true
		}
	}
	return "", false
}

// Integer reads a whole number; numbers such as "4.0" occur.
func Integer(s string) (int, bool) {
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
