package engrave

import (
	"bytes"
	"strings"
	"testing"

	"gradatim/internal/engrave/vector"
)

func TestKeyboard(t *testing.T) {
	p, err := Keyboard([]Key{{MIDI: 58, Label: "♭7", Hand: LeftHand, Name: "B♭3"}, {MIDI: 64, Label: "3"}, {MIDI: 66}}, KeyboardOptions{})
	if err != nil {
		t.Fatal(err)
	}
	svg := string(p.SVG())
	for _, want := range []string{"Marked keys: B♭3 (♭7), E4 (3), F♯4.", "Piano keyboard", ">♭7</text>", ">3</text>"} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in the picture", want)
		}
	}
	if a, _ := p.PDF(); len(a) == 0 {
		t.Error("no PDF")
	}
	a, err := p.PNG(100)
	b, _ := p.PNG(100)
	if err != nil || !bytes.Equal(a, b) {
		t.Errorf("not the same picture twice (%v)", err)
	}
}

// Counts of an 88-key piano: 52 white and 36 black; of an octave: 7 and 5. Common
// practice, no source.
func TestKeyboardKeys(t *testing.T) {
	for _, tt := range []struct{ low, high, white, black int }{{21, 108, 52, 36}, {60, 71, 7, 5}, {0, 0, 7, 5}, {62, 62, 7, 5}, {60, 76, 10, 7}} {
		p, err := Keyboard(nil, KeyboardOptions{Low: tt.low, High: tt.high})
		if err != nil {
			t.Fatal(err)
		}
		white := len(p.drawing.Root.Kids[0].(*vector.Group).Kids)
		black := len(p.drawing.Root.Kids[1].(*vector.Group).Kids)
		if white != tt.white || black != tt.black {
			t.Errorf("%d to %d: %d white and %d black keys, want %d and %d", tt.low, tt.high, white, black, tt.white, tt.black)
		}
	}
}

// Every mark lies within its key, on no neighbour's part that is seen.
func TestKeyboardMarks(t *testing.T) {
	var keys []Key
	for m := 21; m <= 108; m++ {
		keys = append(keys, Key{MIDI: m, Label: "♯11"})
	}
	p, err := Keyboard(keys, KeyboardOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var boxes []vector.Rect
	for _, k := range p.drawing.Root.Kids[2].(*vector.Group).Kids {
		boxes = append(boxes, k.(*vector.Group).Bounds(vector.Identity))
	}
	for i, a := range boxes {
		for _, b := range boxes[i+1:] {
			if o := a.Overlap(b); o.W() > 0.01 && o.H() > 0.01 {
				t.Fatalf("marks %v and %v overlap", a, b)
			}
		}
		if a.X0 < 0 || a.X1 > p.drawing.W {
			t.Errorf("mark %v is outside", a)
		}
	}
}

// Labels beside the keyboard stand in order, above for black keys and below for
// white ones, at the size asked for, touching neither keys nor each other.
func TestKeyboardLabels(t *testing.T) {
	keys := []Key{{MIDI: 60, Label: "1"}, {MIDI: 61, Label: "♭9"}, {MIDI: 63, Label: "♯9"}, {MIDI: 64, Label: "3"}, {MIDI: 65, Label: "11"}, {MIDI: 66, Label: "♯11"}, {MIDI: 68, Label: "♭13"}, {MIDI: 70, Label: "♭7"}}
	plain, err := Keyboard(keys, KeyboardOptions{WhiteWidth: 5})
	if err != nil {
		t.Fatal(err)
	}
	p, err := Keyboard(keys, KeyboardOptions{WhiteWidth: 5, LabelSize: 4})
	if err != nil {
		t.Fatal(err)
	}
	board := p.drawing.Root.Kids[0].(*vector.Group).Bounds(vector.Identity)
	var labels []*vector.Text
	for _, k := range p.drawing.Root.Kids[1:] {
		labels = append(labels, k.(*vector.Text))
	}
	if len(labels) != len(keys) {
		t.Fatalf("%d labels", len(labels))
	}
	said := ""
	for i, l := range labels {
		said += l.Plain + " "
		box := l.Bounds(vector.Identity)
		if l.Spans[0].Size != 4 {
			t.Errorf("%s has size %g", l.Plain, l.Spans[0].Size)
		}
		if o := box.Overlap(board); o.H() > 0.01 {
			t.Errorf("%s reaches into the keys", l.Plain)
		}
		if box.X0 < 0 || box.Y0 < 0 || box.X1 > p.drawing.W || box.Y1 > p.drawing.H {
			t.Errorf("%s is outside: %v", l.Plain, box)
		}
		for _, m := range labels[i+1:] {
			if o := box.Overlap(m.Bounds(vector.Identity)); o.W() > 0 && o.H() > 0 {
				t.Errorf("%s and %s overlap", l.Plain, m.Plain)
			}
		}
	}
	if want := "♭9 ♯9 ♯11 ♭13 ♭7 1 3 11 "; said != want {
		t.Errorf("labels %q, want %q", said, want)
	}
	if _, h := plain.Size(); p.drawing.H < h+8 {
		t.Errorf("no room was made: %g, without labels %g", p.drawing.H, h)
	}
	for _, size := range []float64{-1, 21} {
		if _, err := Keyboard(keys, KeyboardOptions{LabelSize: size}); err == nil {
			t.Errorf("labels of %g mm: no error", size)
		}
	}
}

func TestKeyboardRefusals(t *testing.T) {
	for name, f := range map[string]func() (*Picture, error){
		"below":     func() (*Picture, error) { return Keyboard([]Key{{MIDI: 20}}, KeyboardOptions{}) },
		"above":     func() (*Picture, error) { return Keyboard([]Key{{MIDI: 109}}, KeyboardOptions{}) },
		"twice":     func() (*Picture, error) { return Keyboard([]Key{{MIDI: 60}, {MIDI: 60}}, KeyboardOptions{}) },
		"backwards": func() (*Picture, error) { return Keyboard(nil, KeyboardOptions{Low: 80, High: 40}) },
		"wide":      func() (*Picture, error) { return Keyboard(nil, KeyboardOptions{WhiteWidth: 1e6}) },
	} {
		if _, err := f(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}
