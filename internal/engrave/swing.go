package engrave

import (
	"strings"

	"gradatim/internal/engrave/vector"
)

// swings tells whether a score says that its eighths are swung: long and short.
// Source of the element: MusicXML 4.0, swing.
func swings(m *element) bool {
	found := false
	m.walk(func(e *element) {
		if e.name == "swing" && (e.value("swing-type") == "" || e.value("swing-type") == "eighth") {
			found = found || e.number("first") > e.number("second")
		}
	})
	return found
}

// equation adds to a tempo mark how swung eighths are played: a pair of eighths
// is a quarter and an eighth of a triplet. Common practice of print, no source;
// it stands for any ratio.
func (ts typesetter) equation(tempo *vector.Group) {
	for _, k := range tempo.Kids {
		t, ok := k.(*vector.Text)
		if !ok || !strings.Contains(strings.ToLower(t.String()), "swing") {
			continue
		}
		size := 0.0
		for _, s := range t.Spans {
			if s.Music == nil {
				size = max(size, s.Size)
			}
		}
		e := &equation{ts: ts, size: size, x: t.X + t.Width() + 0.5*size, y: t.Y, g: &vector.Group{Class: "swing"}}
		e.draw()
		tempo.Add(e.g)
		return
	}
}

// equation sets signs from the left, in the units of the text beside it.
type equation struct {
	ts         typesetter
	g          *vector.Group
	x, y, size float64 // the place on the base line, the em of the text
}

func (e *equation) draw() {
	staff := e.size * 0.31 // a staff space of the small notes
	e.text("(")
	e.x += 0.12 * e.size
	a := e.note(staff, false)
	e.x = a + 1.9*staff
	b := e.note(staff, false)
	top := e.y - 3.35*staff
	e.bar(a-0.12*staff, top, b-a+0.12*staff, 0.5*staff)
	e.x += 0.3 * e.size
	e.text("=")
	e.x += 0.25 * e.size
	from := e.x
	c := e.note(staff, false)
	e.x = c + 1.6*staff
	d := e.note(staff, true)
	// The bracket of the triplet, open for its figure.
	to, y, thin := d+0.9*staff, top-0.75*staff, 0.12*staff
	mid := (from + to) / 2
	figure := e.ts.line("3", mid, y+0.27*e.size, 0.75*e.size, vector.BoldItalic, vector.Middle)
	gap := figure.Width()/2 + 0.25*staff
	e.bar(from, y, mid-gap-from, thin)
	e.bar(mid+gap, y, to-mid-gap, thin)
	e.bar(from, y, thin, 0.5*staff)
	e.bar(to-thin, y, thin, 0.5*staff)
	e.g.Add(figure)
	e.x += 0.12 * e.size
	e.text(")")
}

func (e *equation) text(s string) {
	t := e.ts.line(s, e.x, e.y, e.size, vector.Bold, vector.Start)
	e.x += t.Width()
	e.g.Add(t)
}

func (e *equation) bar(x, y, w, h float64) {
	p := &vector.Path{}
	p.Rectangle(x, y, w, h)
	e.g.Add(&vector.Shape{Path: p, Fill: vector.Ink})
}

// Glyphs of SMuFL 1.4.
const (
	blackHead = "\uE0A4" // noteheadBlack
	flagUp    = "\uE240" // flag8thUp
)

// note sets a black note with its stem up, and returns where the stem's right
// edge is.
func (e *equation) note(staff float64, flag bool) float64 {
	head := &vector.Text{X: e.x, Y: e.y - 0.5*staff, Spans: []vector.Span{{Text: blackHead, Size: 4 * staff, Music: e.ts.music, Fill: vector.Ink}}}
	e.g.Add(head)
	e.x += head.Width()
	top, thin := e.y-3.35*staff, 0.12*staff
	e.bar(e.x-thin, top, thin, e.y-0.65*staff-top)
	right := e.x
	if flag {
		f := &vector.Text{X: e.x - thin, Y: top, Spans: []vector.Span{{Text: flagUp, Size: 4 * staff, Music: e.ts.music, Fill: vector.Ink}}}
		e.g.Add(f)
		e.x += f.Width()
	}
	return right
}
