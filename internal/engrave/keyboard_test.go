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

// Counts of an 88-key piano: 52 white and 36 black; of an octave: 7 and 5.
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
