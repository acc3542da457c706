package engrave

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"

	"gradatim/leadsheet"
)

// Limits on input. A piano score of a thousand bars has about 3 MB.
const (
	maxInput    = 64 << 20 // bytes, unpacked
	maxDepth    = 64       // elements within elements
	maxElements = 4_000_000
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

// problem is an error that stops the work.
func problem(pos leadsheet.Pos, code, fix, format string, args ...any) leadsheet.Problem {
	return leadsheet.Problem{Pos: pos, Severity: leadsheet.Error, Code: code, Text: fmt.Sprintf(format, args...), Fix: fix}
}

// readXML reads a MusicXML file, packed or not, into a tree.
func readXML(b []byte) (*element, error) {
	if bytes.HasPrefix(b, []byte("PK\x03\x04")) {
		var err error
		if b, err = unpack(b); err != nil {
			return nil, leadsheet.Problems{problem(leadsheet.Pos{}, "musicxml-packed", "save the score anew, or unpacked", "the packed score cannot be read: %v", err)}
		}
	}
	if len(b) > maxInput {
		return nil, leadsheet.Problems{problem(leadsheet.Pos{}, "musicxml-size", "", "the score has %d bytes, more than %d", len(b), maxInput)}
	}
	e, err := parseXML(b)
	if err != nil {
		return nil, leadsheet.Problems{*err}
	}
	return e, nil
}

// unpack returns the score in a compressed MusicXML file: the first root file
// that META-INF/container.xml names (MusicXML 4.0, "Compressed .mxl files").
func unpack(b []byte) ([]byte, error) {
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return nil, err
	}
	read := func(name string) ([]byte, error) {
		f, err := z.Open(name)
		if err != nil {
			return nil, err
		}
		defer f.Close()
		out, err := io.ReadAll(io.LimitReader(f, maxInput+1))
		if err == nil && len(out) > maxInput {
			err = fmt.Errorf("%s is larger than %d bytes", name, maxInput)
		}
		return out, err
	}
	c, err := read("META-INF/container.xml")
	if err != nil {
		return nil, err
	}
	root, perr := parseXML(c)
	if perr != nil {
		return nil, errors.New(perr.String())
	}
	name := ""
	root.walk(func(e *element) {
		if e.name == "rootfile" && name == "" {
			name = e.get("full-path")
		}
	})
	if name == "" {
		return nil, errors.New("its container names no score")
	}
	return read(name)
}

func parseXML(b []byte) (*element, *leadsheet.Problem) {
	fail := func(pos leadsheet.Pos, format string, args ...any) (*element, *leadsheet.Problem) {
		p := problem(pos, "musicxml-xml", "save the score anew in the program it came from", format, args...)
		return nil, &p
	}
	b, err := decodeUTF16(b)
	if err != nil {
		return fail(leadsheet.Pos{}, "the file is not text: %v", err)
	}
	d := xml.NewDecoder(bytes.NewReader(b))
	d.CharsetReader = charset
	top := &element{}
	stack := []*element{top}
	texts := [][]byte{nil} // of the elements in stack
	n := 0
	for {
		line, col := d.InputPos()
		pos := leadsheet.Pos{Line: line, Col: col}
		t, err := d.RawToken()
		if err == io.EOF {
			break
		}
		if err != nil {
			line, col := d.InputPos()
			text := err.Error()
			var se *xml.SyntaxError
			if errors.As(err, &se) {
				text = se.Msg
			}
			return fail(leadsheet.Pos{Line: line, Col: col}, "the file is not XML: %s", text)
		}
		cur := stack[len(stack)-1]
		switch t := t.(type) {
		case xml.StartElement:
			if n++; n > maxElements || len(stack) > maxDepth {
				return fail(pos, "the file has too many elements, or too deep ones")
			}
			e := &element{name: qualified(t.Name), line: line, col: col}
			for _, a := range t.Attr {
				e.attr = append(e.attr, attr{qualified(a.Name), a.Value})
			}
			if cur == top && len(top.kids) > 0 {
				return fail(pos, "the file has two roots")
			}
			cur.kids = append(cur.kids, e)
			stack, texts = append(stack, e), append(texts, nil)
		case xml.EndElement:
			if name := qualified(t.Name); name != cur.name {
				return fail(pos, "</%s> where </%s> was expected", name, cur.name)
			}
			last := len(stack) - 1
			if text := texts[last]; len(cur.kids) == 0 || len(bytes.TrimSpace(text)) > 0 {
				cur.text = string(text)
			}
			stack, texts = stack[:last], texts[:last]
		case xml.CharData:
			if !utf8.Valid(t) {
				return fail(pos, "the text is not UTF-8")
			}
			if cur != top {
				texts[len(texts)-1] = append(texts[len(texts)-1], t...)
			}
		}
	}
	if len(stack) > 1 {
		line, col := d.InputPos()
		return fail(leadsheet.Pos{Line: line, Col: col}, "the file ends within <%s>", stack[len(stack)-1].name)
	}
	if len(top.kids) == 0 {
		return fail(leadsheet.Pos{}, "the file has no content")
	}
	return top.kids[0], nil
}

func qualified(n xml.Name) string {
	if n.Space != "" {
		return n.Space + ":" + n.Local
	}
	return n.Local
}

// decodeUTF16 turns UTF-16 with a byte order mark into UTF-8.
func decodeUTF16(b []byte) ([]byte, error) {
	if bytes.HasPrefix(b, []byte{0xFE, 0xFF}) || bytes.HasPrefix(b, []byte{0xFF, 0xFE}) {
		return unicode.UTF16(unicode.LittleEndian, unicode.ExpectBOM).NewDecoder().Bytes(b)
	}
	return bytes.TrimPrefix(b, []byte{0xEF, 0xBB, 0xBF}), nil
}

// charset reads the encodings that an XML declaration may name. UTF-16 has
// been decoded before.
func charset(name string, in io.Reader) (io.Reader, error) {
	if strings.HasPrefix(strings.ToLower(name), "utf-16") {
		return in, nil
	}
	enc, err := htmlindex.Get(name)
	if err != nil {
		return nil, fmt.Errorf("unknown encoding %q", name)
	}
	return enc.NewDecoder().Reader(in), nil
}
