package vector

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf16"
)

// Tag says what a group is to a reader who does not see the page: a heading, a
// paragraph, a figure. Groups that share a Tag are one thing, such as the lines
// of a paragraph.
type Tag struct {
	Role string // a standard structure type of ISO 32000-1, 14.8.4: "H1", "P", "LI", "Figure"
	Alt  string // text in the place of a figure

	// Within is what it is a part of, as a list is of items; nil: the document.
	// A Tag with parts has no group of its own.
	Within *Tag
}

// tagged is the logical structure of a file, as far as it is written.
type tagged struct {
	on    bool
	all   []*Tag          // each after what it is within
	kids  map[*Tag][]*Tag // nil: the document's
	spots map[*Tag][]spot
	count []int // marked contents of each page
}

// spot is a marked content.
type spot struct{ page, id int }

func newTagged(pages []*Drawing) *tagged {
	t := &tagged{kids: map[*Tag][]*Tag{}, spots: map[*Tag][]spot{}, count: make([]int, len(pages))}
	for _, d := range pages {
		for _, k := range d.Root.Kids {
			if g, ok := k.(*Group); ok && g.Tag != nil {
				t.on = true
			}
		}
	}
	return t
}

// open begins a part of a page and returns the operators before and after it.
func (t *tagged) open(page int, n Node) (before, after string) {
	if !t.on {
		return "", ""
	}
	g, ok := n.(*Group)
	if !ok || g.Tag == nil {
		return "/Artifact BMC", "EMC"
	}
	id := t.count[page]
	t.count[page]++
	t.enter(g.Tag)
	t.spots[g.Tag] = append(t.spots[g.Tag], spot{page, id})
	return fmt.Sprintf("/%s <</MCID %d>> BDC", g.Tag.Role, id), "EMC"
}

// enter gives a tag its place in the structure, where it has none yet.
func (t *tagged) enter(tag *Tag) {
	if t.spots[tag] != nil || t.kids[tag] != nil {
		return
	}
	if tag.Within != nil {
		t.enter(tag.Within)
	}
	t.all = append(t.all, tag)
	t.kids[tag.Within] = append(t.kids[tag.Within], tag)
}

// finish adds the structure to a file. The library knows no structure: it is
// added as an incremental update (ISO 32000-1, 7.5.6), which leaves every byte
// before it as it was and gives new versions of the catalogue and the pages.
func (t *tagged) finish(pdf []byte) ([]byte, error) {
	if !t.on {
		return pdf, nil
	}
	f, err := readFile(pdf)
	if err != nil {
		return nil, err
	}
	if len(f.pages) != len(t.count) {
		return nil, fmt.Errorf("pdf: %d pages found of %d", len(f.pages), len(t.count))
	}
	u := &revision{out: bytes.NewBuffer(bytes.Clone(pdf)), next: f.size}
	root, parents, whole := u.number(), u.number(), u.number()
	owner := make([][]int, len(t.count)) // by page and marked content: the element
	for i := range owner {
		owner[i] = make([]int, t.count[i])
	}
	number := map[*Tag]int{nil: whole}
	for _, tag := range t.all {
		number[tag] = u.number()
	}
	for _, tag := range t.all {
		n := number[tag]
		var kids strings.Builder
		for _, k := range t.kids[tag] {
			fmt.Fprintf(&kids, "%d 0 R ", number[k])
		}
		for _, s := range t.spots[tag] {
			owner[s.page][s.id] = n
			fmt.Fprintf(&kids, "<</Type /MCR /Pg %d 0 R /MCID %d>> ", f.pages[s.page], s.id)
		}
		alt := ""
		if tag.Alt != "" {
			alt = " /Alt " + textString(tag.Alt)
		}
		u.object(n, fmt.Sprintf("<</Type /StructElem /S /%s /P %d 0 R%s /K [%s]>>", tag.Role, number[tag.Within], alt, strings.TrimSpace(kids.String())))
	}
	u.object(root, fmt.Sprintf("<</Type /StructTreeRoot /K %d 0 R /ParentTree %d 0 R /ParentTreeNextKey %d>>", whole, parents, len(owner)))
	var b strings.Builder
	for i, list := range owner {
		fmt.Fprintf(&b, "%d [", i)
		for _, n := range list {
			fmt.Fprintf(&b, "%d 0 R ", n)
		}
		b.WriteString("] ")
	}
	u.object(parents, "<</Nums ["+b.String()+"]>>")
	b.Reset()
	for _, k := range t.kids[nil] {
		fmt.Fprintf(&b, "%d 0 R ", number[k])
	}
	u.object(whole, fmt.Sprintf("<</Type /StructElem /S /Document /P %d 0 R /K [%s]>>", root, strings.TrimSpace(b.String())))
	for i, n := range f.pages {
		body, err := f.body(pdf, n)
		if err != nil {
			return nil, err
		}
		u.object(n, fmt.Sprintf("<</StructParents %d /Tabs /S\n%s", i, strings.TrimPrefix(body, "<<")))
	}
	body, err := f.body(pdf, f.root)
	if err != nil {
		return nil, err
	}
	u.object(f.root, fmt.Sprintf("<</Version /1.7 /StructTreeRoot %d 0 R /MarkInfo <</Marked true>> /ViewerPreferences <</DisplayDocTitle true>>\n%s", root, strings.TrimPrefix(body, "<<")))
	return u.close(f), nil
}

// textString writes text as PDF does: UTF-16 with its mark, in hexadecimal.
func textString(s string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, c := range utf16.Encode([]rune(s)) {
		fmt.Fprintf(&b, "%04X", c)
	}
	return b.String() + ">"
}

// file is what has to be known of the library's file: a plain cross-reference
// table and one object after the other.
type file struct {
	offsets []int // by object number
	size    int
	start   int // of the table
	root    int
	info    string
	pages   []int // object numbers, in order
}

var errForm = errors.New("pdf: the file does not have the form that its structure can be added to")

func readFile(pdf []byte) (file, error) {
	var f file
	i := bytes.LastIndex(pdf, []byte("startxref\n"))
	if i < 0 {
		return f, errForm
	}
	if _, err := fmt.Sscanf(string(pdf[i:]), "startxref\n%d", &f.start); err != nil || f.start <= 0 || f.start >= i {
		return f, errForm
	}
	lines := strings.Split(string(pdf[f.start:i]), "\n")
	if len(lines) < 3 || lines[0] != "xref" {
		return f, errForm
	}
	if _, err := fmt.Sscanf(lines[1], "0 %d", &f.size); err != nil || len(lines) < f.size+2 {
		return f, errForm
	}
	for _, l := range lines[2 : 2+f.size] {
		n, err := strconv.Atoi(strings.TrimSpace(l[:min(10, len(l))]))
		if err != nil {
			return f, errForm
		}
		f.offsets = append(f.offsets, n)
	}
	for _, l := range lines[2+f.size:] {
		if rest, ok := strings.CutPrefix(l, "/Root "); ok {
			f.root, _ = strconv.Atoi(strings.TrimSuffix(rest, " 0 R"))
		}
		if strings.HasPrefix(l, "/Info ") {
			f.info = l
		}
	}
	if f.root <= 0 || f.root >= f.size {
		return f, errForm
	}
	for n := 1; n < f.size; n++ {
		head := fmt.Sprintf("%d 0 obj\n<</Type /Page\n", n)
		if f.offsets[n] > 0 && bytes.HasPrefix(pdf[f.offsets[n]:], []byte(head)) {
			f.pages = append(f.pages, n)
		}
	}
	return f, nil
}

// body returns an object without its frame.
func (f file) body(pdf []byte, n int) (string, error) {
	s := pdf[f.offsets[n]:]
	head := []byte(fmt.Sprintf("%d 0 obj\n", n))
	end := bytes.Index(s, []byte("endobj"))
	if !bytes.HasPrefix(s, head) || end < 0 {
		return "", errForm
	}
	body := strings.TrimSpace(string(s[len(head):end]))
	if !strings.HasPrefix(body, "<<") {
		return "", errForm
	}
	return body, nil
}

// revision writes objects after the end of a file.
type revision struct {
	out  *bytes.Buffer
	next int
	at   []struct{ number, offset int }
}

func (u *revision) number() int { u.next++; return u.next - 1 }

func (u *revision) object(n int, body string) {
	u.at = append(u.at, struct{ number, offset int }{n, u.out.Len()})
	fmt.Fprintf(u.out, "%d 0 obj\n%s\nendobj\n", n, body)
}

func (u *revision) close(f file) []byte {
	start := u.out.Len()
	u.out.WriteString("xref\n")
	for _, o := range u.at {
		fmt.Fprintf(u.out, "%d 1\n%010d 00000 n \n", o.number, o.offset)
	}
	fmt.Fprintf(u.out, "trailer\n<<\n/Size %d\n/Root %d 0 R\n%s\n/Prev %d\n>>\nstartxref\n%d\n%%%%EOF\n", u.next, f.root, f.info, f.start, start)
	return u.out.Bytes()
}
