package engrave

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"gradatim/internal/engrave/vector"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Key is a key that a picture of the keyboard marks.
type Key struct {
	MIDI  int    // 21 (A0) to 108 (C8); 60 is middle C
	Label string // on the key: a finger, a degree such as "♭7", or a name
	Name  string // for the description, such as "E♭4"; empty: a name with sharps
	Hand  KeyHand
}

// KeyHand says which hand plays a key; the left hand's marks are squares.
type KeyHand uint8

// Hands.
const (
	AnyHand KeyHand = iota
	RightHand
	LeftHand
)

// KeyboardOptions say how a picture of the keyboard looks. The zero value is
// ready.
type KeyboardOptions struct {
	WhiteWidth float64 // of a white key, mm; 0: 6
	Low, High  int     // MIDI keys that must be in the picture; 0: as the marks need
	Title      string  // for screen readers; empty: "Piano keyboard"
	// LabelSize is that of labels beside the keyboard, mm of the em: those of
	// black keys above it, those of white keys below. 0: labels stand on the keys,
	// as large as these allow.
	LabelSize float64
	IDPrefix  string // see Layout.IDPrefix; empty: "k"
	Lang      string // see Layout.Lang
}

// Picture is a drawing of ours outside the pages.
type Picture struct {
	drawing *vector.Drawing
	prefix  string
}

// Size returns width and height in millimetres.
func (p *Picture) Size() (w, h float64) { return p.drawing.W, p.drawing.H }

// SVG returns the picture as one self-contained file.
func (p *Picture) SVG() []byte { return p.drawing.SVG(vector.SVGOptions{Prefix: p.prefix}) }

// PNG returns the picture on white, at 1 to 2400 dots per inch.
func (p *Picture) PNG(dpi float64) ([]byte, error) { return p.drawing.PNG(dpi) }

// PDF returns the picture as a file of one page of its size.
func (p *Picture) PDF() ([]byte, error) {
	return vector.PDF(context.Background(), []*vector.Drawing{p.drawing}, vector.PDFMeta{Title: p.drawing.Title, Subject: p.drawing.Description})
}

// Proportions of the keys, in widths of a white one. Widths: 23.5 mm and 13.7
// mm, as pianos are built (common practice, no source); keys are drawn shorter
// than they are, to save room.
const (
	whiteLength = 3.8
	blackWidth  = 13.7 / 23.5
	blackLength = 2.4
)

// blackShift is how far the middle of a black key lies from the edge between
// its white neighbours, in widths of a white key: the outer ones of a group
// lean outwards. From memory.
var blackShift = map[int]float64{1: -0.10, 3: 0.10, 6: -0.14, 8: 0, 10: 0.14}

// whiteOf counts white keys up to and including the one at or below a key.
func whiteOf(midi int) int {
	return midi/12*7 + [12]int{0, 0, 1, 1, 2, 3, 3, 4, 4, 5, 5, 6}[midi%12]
}

func isBlack(midi int) bool { _, ok := blackShift[midi%12]; return ok }

// Keyboard draws a part of the keyboard with keys marked and labelled. An
// empty list gives an octave from middle C without marks.
func Keyboard(keys []Key, o KeyboardOptions) (*Picture, error) {
	var ps leadsheet.Problems
	bad := func(says leadsheet.Saying, parts ...any) {
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, says, parts...)
	}
	say, err := words.In(o.Lang)
	if err != nil {
		bad("engrave-keyboard.language", "Error", err.Error())
	}
	if o.WhiteWidth == 0 {
		o.WhiteWidth = 6
	}
	if !(o.LabelSize >= 0 && o.LabelSize <= 20) {
		bad("engrave-keyboard.labels", "Size", o.LabelSize)
	}
	if !(o.WhiteWidth >= 1 && o.WhiteWidth <= 50) {
		bad("engrave-keyboard.width", "Width", o.WhiteWidth)
	}
	low, high := o.Low, o.High
	if low == 0 && high == 0 && len(keys) == 0 {
		low, high = 60, 71
	}
	seen := map[int]bool{}
	for _, k := range keys {
		if k.MIDI < 21 || k.MIDI > 108 {
			bad("engrave-keyboard.key", "Key", k.MIDI)
			continue
		}
		if seen[k.MIDI] {
			bad("engrave-keyboard.twice", "Key", k.MIDI)
		}
		seen[k.MIDI] = true
		if low == 0 || k.MIDI < low {
			low = k.MIDI
		}
		if k.MIDI > high {
			high = k.MIDI
		}
	}
	if low == 0 {
		low = high
	}
	if high == 0 {
		high = low
	}
	if len(ps) == 0 && (low < 21 || high > 108 || low > high) {
		bad("engrave-keyboard.range", "Low", low, "High", high)
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	// A player finds her way by the groups of black keys: begin with C or F,
	// end with B or E, and show at least an octave.
	for low > 21 && low%12 != 0 && low%12 != 5 {
		low--
	}
	for high < 108 && (high-low < 11 || high%12 != 4 && high%12 != 11) {
		high++
	}
	return drawKeyboard(keys, o, say, low, high), nil
}

func drawKeyboard(keys []Key, o KeyboardOptions, say *words.Words, low, high int) *Picture {
	w := o.WhiteWidth
	first := whiteOf(low)
	n := whiteOf(high) - first + 1
	const edge = 0.3
	d := &vector.Drawing{W: float64(n)*w + 2*edge, H: whiteLength*w + 2*edge, Title: o.Title, Lang: say.ID()}
	if d.Title == "" {
		d.Title = say.Say("sheet.keyboard")
	}
	left := func(midi int) float64 { return edge + float64(whiteOf(midi)-first)*w }
	middle := func(midi int) float64 {
		if isBlack(midi) {
			return left(midi) + w + blackShift[midi%12]*w
		}
		return left(midi) + w/2
	}
	line := 0.04 * w
	white, black := &vector.Group{Class: "white-keys"}, &vector.Group{Class: "black-keys"}
	for m := low; m <= high; m++ {
		p := &vector.Path{}
		if isBlack(m) {
			if m == low || m == high {
				continue // half a key at the end of an 88-key picture: there is none
			}
			p.Rectangle(middle(m)-blackWidth*w/2, edge, blackWidth*w, blackLength*w)
			black.Add(&vector.Shape{Path: p, Fill: vector.RGB(0x33, 0x33, 0x33), Stroke: vector.Ink, Width: line})
			continue
		}
		p.Rectangle(left(m), edge, w, whiteLength*w)
		white.Add(&vector.Shape{Path: p, Fill: vector.RGB(255, 255, 255), Stroke: vector.Ink, Width: line})
	}
	d.Root.Add(white, black)
	marks := &vector.Group{Class: "marks"}
	var said []string
	outside := labels{d: d, size: o.LabelSize, w: w, edge: edge}
	for _, k := range keys {
		if mark := k; o.LabelSize > 0 {
			mark.Label = ""
			marks.Add(keyMark(mark, middle(k.MIDI), w))
			outside.add(k, middle(k.MIDI))
		} else {
			marks.Add(keyMark(k, middle(k.MIDI), w))
		}
		name := k.Name
		if name == "" {
			name = say.Value(sharp(k.MIDI))
		}
		if k.Label != "" && k.Label != name {
			name += " (" + k.Label + ")"
		}
		said = append(said, name)
	}
	d.Root.Add(marks)
	outside.finish()
	d.Description = say.Say("sheet.keys", "Low", sharp(low), "High", sharp(high))
	if len(said) > 0 {
		d.Description = say.Say("sheet.marked-keys", "Keys", strings.Join(said, ", "))
	}
	prefix := o.IDPrefix
	if prefix == "" {
		prefix = "k"
	}
	return &Picture{d, prefix}
}

// keyMark draws a mark: dark on white keys, white on black ones, with its
// label in it.
func keyMark(k Key, x, w float64) *vector.Group {
	g := &vector.Group{Class: "mark"}
	r, y := 0.4*w, (whiteLength-0.62)*w
	fill, ink := vector.Ink, vector.RGB(255, 255, 255)
	if isBlack(k.MIDI) {
		r, y = blackWidth*w/2, (blackLength-0.48)*w
		fill, ink = ink, vector.Ink
	}
	p := &vector.Path{}
	if k.Hand == LeftHand {
		p.Rectangle(x-r*0.92, y-r*0.92, 2*r*0.92, 2*r*0.92)
	} else {
		p.Ellipse(x, y, r, r)
	}
	g.Add(&vector.Shape{Path: p, Fill: fill})
	if k.Label == "" {
		return g
	}
	t := &vector.Text{X: x, Anchor: vector.Middle, Plain: k.Label,
		Spans: []vector.Span{{Text: k.Label, Size: 1, Face: vector.Bold, Fill: ink}}}
	size := 1.25 * r
	if width := t.Width(); width*size > 1.6*r {
		size = 1.6 * r / width
	}
	t.Spans[0].Size = size
	t.Y = y + 0.33*size
	g.Add(t)
	return g
}

// labels are set above and below a keyboard.
type labels struct {
	d            *vector.Drawing
	size, w      float64
	edge         float64
	above, below []*vector.Text
}

func (l *labels) add(k Key, x float64) {
	if k.Label == "" {
		return
	}
	t := &vector.Text{X: x, Anchor: vector.Middle, Plain: k.Label,
		Spans: []vector.Span{{Text: k.Label, Size: l.size, Face: vector.Bold, Fill: vector.Ink}}}
	if isBlack(k.MIDI) {
		l.above = append(l.above, t)
	} else {
		l.below = append(l.below, t)
	}
}

// finish makes room for the labels and sets them from the left, so that none
// touches the one before.
func (l *labels) finish() {
	if l.size == 0 {
		return
	}
	room := 1.15 * l.size
	keys := l.d.Root.Kids
	l.d.Root.Kids = []vector.Node{&vector.Group{Class: "keys", At: vector.Translate(0, room), Kids: keys}}
	set := func(ts []*vector.Text, y float64) {
		slices.SortStableFunc(ts, func(a, b *vector.Text) int { return cmp.Compare(a.X, b.X) })
		free := 0.0
		for _, t := range ts {
			half := t.Width() / 2
			t.X = max(t.X, free+half)
			t.Y = y
			free = t.X + half + 0.12*l.size
			l.d.Root.Add(t)
		}
		l.d.W = max(l.d.W, free)
	}
	set(l.above, 0.85*l.size)
	set(l.below, room+l.d.H+0.85*l.size)
	l.d.H += 2 * room
}

// sharp names a key, black ones with sharps.
func sharp(midi int) theory.Pitch {
	letters := [12]theory.Letter{theory.C, theory.C, theory.D, theory.D, theory.E, theory.F, theory.F, theory.G, theory.G, theory.A, theory.A, theory.B}
	p := theory.Pitch{Name: theory.Name{Letter: letters[midi%12]}, Octave: int8(midi/12 - 1)}
	if isBlack(midi) {
		p.Alter = 1
	}
	return p
}
