package musicxml

import (
	"bytes"
	"encoding/xml"
	"io"
	"slices"
	"strconv"
	"strings"

	"gradatim/internal/musicxml/markup"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// WithChords writes chord symbols over a lead sheet and leaves all else of its text as it
// is; symbols that are there go. marks are by written bar, in order. The result is UTF-8,
// not compressed. ok is false for a timewise file, and where the melody is in several
// parts' measures that cannot be told apart. The error is a leadsheet.Problems, as of
// ReadSong.
func WithChords(data []byte, opt Options, marks []leadsheet.BarChord) (_ []byte, ok bool, _ error) {
	r := newReader(opt)
	doc, ok := r.document(data)
	if !ok {
		return nil, false, r.problems.list()
	}
	chosen := r.melodyPart(doc)
	if chosen == nil {
		return nil, false, r.problems.list()
	}
	text, _ := markup.Text(data)
	w := chorder{text: text, part: slices.Index(doc.parts, chosen), marks: marks}
	if !w.run() {
		return nil, false, nil
	}
	return declared(w.out.Bytes()), true, nil
}

// declared makes the XML declaration say UTF-8, which the text is in.
func declared(text []byte) []byte {
	if !bytes.HasPrefix(text, []byte("<?xml")) {
		return text
	}
	end := bytes.Index(text, []byte("?>"))
	if end < 0 {
		return text
	}
	return append([]byte(`<?xml version="1.0" encoding="UTF-8"?>`), text[end+2:]...)
}

// chorder goes through the text once and copies it. Times are in divisions of a quarter.
type chorder struct {
	text  []byte
	part  int
	marks []leadsheet.BarChord

	d         *xml.Decoder
	out       bytes.Buffer
	copied    int // bytes of the text that are done
	divisions frac
	now       frac // where the next note begins, in quarters
}

// run copies the text with the marks; false where it is not partwise.
func (w *chorder) run() bool {
	w.d = xml.NewDecoder(bytes.NewReader(w.text))
	w.d.Strict = false
	w.d.Entity = xml.HTMLEntity
	w.d.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil } // UTF-8 by now
	w.divisions = frac{1, 1}
	var path []string
	part, measure := -1, -1
	for {
		at := int(w.d.InputOffset())
		tok, err := w.d.Token()
		if err != nil {
			break
		}
		switch e := tok.(type) {
		case xml.StartElement:
			path = append(path, e.Name.Local)
			switch {
			case len(path) == 1 && e.Name.Local != "score-partwise":
				return false
			case len(path) == 2 && e.Name.Local == "part":
				part, measure = part+1, -1
			case len(path) == 3 && e.Name.Local == "measure":
				measure++
				w.now = frac{0, 1}
			case len(path) == 4 && path[1] == "part":
				if part == w.part {
					w.child(e, at, measure)
				} else if e.Name.Local == "harmony" {
					w.drop(at)
				} else if w.d.Skip() != nil {
					return false
				}
				path = path[:3]
			}
		case xml.EndElement:
			if len(path) > 0 {
				path = path[:len(path)-1]
			}
		}
	}
	w.out.Write(w.text[w.copied:])
	return part >= w.part
}

// drop leaves out an element, with the blanks before it.
func (w *chorder) drop(at int) {
	before := bytes.TrimRight(w.text[w.copied:at], " \t")
	if n := len(before); n > 0 && before[n-1] == '\n' {
		before = before[:n-1]
		if n > 1 && before[n-2] == '\r' {
			before = before[:n-2]
		}
	}
	w.out.Write(before)
	if w.d.Skip() == nil {
		w.copied = int(w.d.InputOffset())
	}
}

// child handles what stands in a bar of the melody's part.
func (w *chorder) child(e xml.StartElement, at, measure int) {
	switch e.Name.Local {
	case "harmony":
		w.drop(at)
		return
	case "note", "backup", "forward", "attributes":
	default:
		_ = w.d.Skip()
		return
	}
	var item struct {
		Divisions string    `xml:"divisions"`
		Duration  string    `xml:"duration"`
		Chord     *struct{} `xml:"chord"`
		Grace     *struct{} `xml:"grace"`
	}
	if w.d.DecodeElement(&item, &e) != nil {
		return
	}
	if n, ok := parseDecimal(item.Divisions); ok && n.n > 0 && n.n/n.d <= maxDivisions {
		w.divisions = n
	}
	long, ok := parseDecimal(item.Duration)
	if !ok || item.Grace != nil || item.Chord != nil {
		return
	}
	long = reduced(long.n*w.divisions.d, long.d*w.divisions.n)
	switch e.Name.Local {
	case "backup":
		w.now = w.now.sub(long)
		return
	case "attributes":
		return
	}
	end := w.now.add(long)
	for len(w.marks) > 0 && w.marks[0].Measure <= measure {
		m := w.marks[0]
		into := quarters(m.Offset).sub(w.now)
		if m.Measure == measure && !quarters(m.Offset).less(end) {
			break
		}
		w.marks = w.marks[1:]
		if m.Measure < measure {
			continue
		}
		w.harmony(at, m, into)
	}
	w.now = end
}

// harmony writes a chord symbol before an element, so many quarters after it begins.
func (w *chorder) harmony(at int, m leadsheet.BarChord, into frac) {
	indent := at - len(bytes.TrimRight(w.text[:at], " \t"))
	w.out.Write(w.text[w.copied:at])
	w.copied = at
	x := &scoreWriter{}
	x.open("harmony")
	x.harmonyChord(m.Chord, m.Text)
	if into.n > 0 {
		x.leaf("offset", inDivisions(into, w.divisions))
	}
	x.close()
	blanks := string(w.text[at-indent : at])
	w.out.WriteString(strings.ReplaceAll(strings.TrimSuffix(x.b.String(), "\n"), "\n", "\n"+blanks) + "\n" + blanks)
}

// inDivisions writes quarters as divisions.
func inDivisions(f, divisions frac) string {
	return strconv.FormatFloat(float64(f.n*divisions.n)/float64(f.d*divisions.d), 'f', -1, 64)
}

func quarters(d theory.Dur) frac { return reduced(int64(d), int64(theory.Quarter)) }
