package musicxml

import (
	"fmt"
	"strings"
)

// xmlWriter writes indented XML. Elements close in the order in which they were
// opened, so that what it writes is well formed by construction.
type xmlWriter struct {
	b       strings.Builder
	path    []string
	pending []string // begun, not yet written
}

func (w *xmlWriter) raw(s string) { w.b.WriteString(s) }

// begin opens an element once something is written into it; end closes it, or
// forgets it where nothing was.
func (w *xmlWriter) begin(name string) { w.pending = append(w.pending, name) }

func (w *xmlWriter) end() {
	if n := len(w.pending); n > 0 {
		w.pending = w.pending[:n-1]
		return
	}
	w.close()
}

func (w *xmlWriter) tag(name string, attrs []string) {
	if len(w.pending) > 0 {
		names := w.pending
		w.pending = nil
		for _, n := range names {
			w.open(n)
		}
	}
	for range w.path {
		w.b.WriteByte(' ')
	}
	w.b.WriteByte('<')
	w.b.WriteString(name)
	for i := 0; i+1 < len(attrs); i += 2 {
		fmt.Fprintf(&w.b, ` %s="`, attrs[i])
		w.text(attrs[i+1])
		w.b.WriteByte('"')
	}
}

func (w *xmlWriter) open(name string, attrs ...string) {
	w.tag(name, attrs)
	w.b.WriteString(">\n")
	w.path = append(w.path, name)
}

func (w *xmlWriter) close() {
	name := w.path[len(w.path)-1]
	w.path = w.path[:len(w.path)-1]
	for range w.path {
		w.b.WriteByte(' ')
	}
	w.b.WriteString("</" + name + ">\n")
}

func (w *xmlWriter) leaf(name, text string, attrs ...string) {
	w.tag(name, attrs)
	w.b.WriteByte('>')
	w.text(text)
	w.b.WriteString("</" + name + ">\n")
}

func (w *xmlWriter) empty(name string, attrs ...string) {
	w.tag(name, attrs)
	w.b.WriteString("/>\n")
}

// text escapes; what XML 1.0 cannot hold at all (control characters, bytes that
// are no UTF-8) becomes a space.
func (w *xmlWriter) text(s string) {
	for _, r := range s {
		switch {
		case r == '&':
			w.b.WriteString("&amp;")
		case r == '<':
			w.b.WriteString("&lt;")
		case r == '>':
			w.b.WriteString("&gt;")
		case r == '"':
			w.b.WriteString("&quot;")
		case r < ' ' || r == 0xFFFD || r == 0xFFFE || r == 0xFFFF || r == 0x7F:
			w.b.WriteByte(' ')
		default:
			w.b.WriteRune(r)
		}
	}
}
