package engrave

import (
	"bytes"
	"context"
	"encoding/xml"
	"fmt"
	"strconv"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
)

// element is a part of a MusicXML file: an element with attributes, and either
// elements or text in it. Comments and spaces between elements are lost.
type element struct {
	name string
	attr []attr
	kids []*element
	text string
	line int
	col  int

	harmony *markup.Harmony // what a chord symbol says, until it is prepared
}

type attr struct{ name, value string }

func (e *element) pos() leadsheet.Pos { return leadsheet.Pos{Line: e.line, Col: e.col} }

func (e *element) get(name string) string {
	for _, a := range e.attr {
		if a.name == name {
			return a.value
		}
	}
	return ""
}

func (e *element) set(name, value string) {
	for i := range e.attr {
		if e.attr[i].name == name {
			e.attr[i].value = value
			return
		}
	}
	e.attr = append(e.attr, attr{name, value})
}

func (e *element) unset(name string) {
	for i := range e.attr {
		if e.attr[i].name == name {
			e.attr = append(e.attr[:i:i], e.attr[i+1:]...)
			return
		}
	}
}

// kid returns the first element of a name, or nil.
func (e *element) kid(name string) *element {
	if e == nil {
		return nil
	}
	for _, k := range e.kids {
		if k.name == name {
			return k
		}
	}
	return nil
}

// at follows a path of names; nil if there is none.
func (e *element) at(path ...string) *element {
	for _, n := range path {
		e = e.kid(n)
	}
	return e
}

// value returns the text of the element at a path, trimmed.
func (e *element) value(path ...string) string {
	if e = e.at(path...); e == nil {
		return ""
	}
	return strings.TrimSpace(e.text)
}

// number returns the text at a path as a number, 0 if there is none.
func (e *element) number(path ...string) float64 {
	v, _ := strconv.ParseFloat(e.value(path...), 64)
	return v
}

// drop removes all elements for which f holds.
func (e *element) drop(f func(*element) bool) {
	kept := e.kids[:0:0]
	for _, k := range e.kids {
		if !f(k) {
			kept = append(kept, k)
		}
	}
	e.kids = kept
}

// walk calls f for e and everything in it.
func (e *element) walk(f func(*element)) {
	f(e)
	for _, k := range e.kids {
		k.walk(f)
	}
}

// elem makes an element with text or elements in it.
func elem(name, text string, kids ...*element) *element {
	return &element{name: name, text: text, kids: kids}
}

func (e *element) write(b *bytes.Buffer) {
	b.WriteByte('<')
	b.WriteString(e.name)
	for _, a := range e.attr {
		fmt.Fprintf(b, ` %s="`, a.name)
		xml.EscapeText(b, []byte(a.value))
		b.WriteByte('"')
	}
	if len(e.kids) == 0 && e.text == "" {
		b.WriteString("/>")
		return
	}
	b.WriteByte('>')
	xml.EscapeText(b, []byte(e.text))
	for _, k := range e.kids {
		k.write(b)
	}
	b.WriteString("</" + e.name + ">")
}

// readTree reads a MusicXML file, packed or not, into a tree of a score that is
// written part by part. The Problems tell what was guessed. The error is the context's,
// or says what is wrong.
func readTree(ctx context.Context, musicxml []byte) (*element, leadsheet.Problems, error) {
	text, told := markup.Text(musicxml)
	if err := told.Err(); err != nil {
		return nil, nil, told
	}
	t := &treeReader{Cursor: markup.NewCursor(text), ctx: ctx}
	t.Walk(markup.Visitor{Root: t.begin, Head: t.head, Part: t.part, Measure: t.measure})
	if err := context.Cause(ctx); err != nil {
		return nil, nil, err
	}
	if err := t.Err(); err != nil {
		return nil, nil, append(told, *err)
	}
	return t.root, told, nil
}

// treeReader makes elements of what a cursor reads.
type treeReader struct {
	*markup.Cursor
	ctx   context.Context
	root  *element
	parts map[string]*element // the latest of each id
}

// begin makes the score; it holds parts, however the file is written.
func (t *treeReader) begin(e xml.StartElement) {
	t.root, t.parts = t.element(e), map[string]*element{}
	t.root.name = "score-partwise"
}

func (t *treeReader) head(e xml.StartElement) {
	kid := t.whole(e)
	if kid.name == "part" { // of a file by measures it is none
		return
	}
	t.root.kids = append(t.root.kids, kid)
}

func (t *treeReader) part(e xml.StartElement) {
	p := t.element(e)
	t.root.kids = append(t.root.kids, p)
	t.parts[p.get("id")] = p
}

func (t *treeReader) measure(id string, m xml.StartElement) {
	if t.ctx.Err() != nil {
		t.Fail("") // to stop reading: who began it tells the cause
		return
	}
	p := t.parts[id]
	bar := t.element(m)
	p.kids = append(p.kids, bar)
	t.Bar = len(p.kids)
	t.Each(func(e xml.StartElement) { bar.kids = append(bar.kids, t.whole(e)) })
}

// element makes an element of a start tag.
func (t *treeReader) element(e xml.StartElement) *element {
	out := &element{name: qualified(e.Name), line: t.Line, col: t.Col}
	for _, a := range e.Attr {
		out.attr = append(out.attr, attr{qualified(a.Name), a.Value})
	}
	return out
}

// whole reads an element with all that is in it. A chord symbol is kept as it is
// understood.
func (t *treeReader) whole(e xml.StartElement) *element {
	out := t.element(e)
	if out.name == "harmony" {
		h := t.Harmony(e)
		out.harmony = &h
		return out
	}
	var text []byte
	for {
		switch tok := t.Next().(type) {
		case xml.StartElement:
			out.kids = append(out.kids, t.whole(tok))
		case xml.CharData:
			text = append(text, tok...)
		case xml.EndElement:
			if len(out.kids) == 0 || len(bytes.TrimSpace(text)) > 0 {
				out.text = string(text)
			}
			return out
		case nil:
			return out
		}
	}
}

func qualified(n xml.Name) string {
	if n.Space != "" {
		return n.Space + ":" + n.Local
	}
	return n.Local
}
