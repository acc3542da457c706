package theory

import (
	"slices"
	"testing"
)

// pitches is the unit table of pitches and the seed of the fuzz test. MIDI
// numbers: middle C is C4 = 60, A4 = 69 (MIDI 1.0; from memory).
var pitches = []struct {
	text  string
	midi  int
	staff int
}{
	{"C4", 60, 28}, {"A4", 69, 33}, {"C-1", 0, -7}, {"G9", 127, 67}, {"A0", 21, 5}, {"C8", 108, 56},
	{"B#3", 60, 27}, {"Cb4", 59, 28}, {"Dbb4", 60, 29}, {"B##3", 61, 27}, {"F#4", 66, 31}, {"Gb4", 66, 32},
	{"E#4", 65, 30}, {"Fb4", 64, 31}, {"Abbb4", 66, 33}, {"C###4", 63, 28}, {"C10", 132, 70},
}

func TestPitch(t *testing.T) {
	for _, tt := range pitches {
		p, err := ParsePitch(tt.text)
		if err != nil {
			t.Error(err)
			continue
		}
		if p.String() != tt.text || p.MIDI() != tt.midi || p.Staff() != tt.staff {
			t.Errorf("%s: %s, MIDI %d, staff %d", tt.text, p, p.MIDI(), p.Staff())
		}
		if c := p.Class(); c != mod(tt.midi, 12) {
			t.Errorf("%s: class %d", tt.text, c)
		}
		b, err := p.MarshalText()
		var q Pitch
		if err != nil || q.UnmarshalText(b) != nil || q != p {
			t.Errorf("%s: %s through text", tt.text, q)
		}
	}
	for _, bad := range []string{"", "C", "H4", "c4", "C#b4", "C####4", "C4.", "C 4", "C+4", "C04", "C11", "C-2", "C99999999999", "4"} {
		if p, err := ParsePitch(bad); err == nil {
			t.Errorf("%q is read as %s", bad, p)
		}
	}
}

func TestPretty21(t *testing.T) {
	for text, want := range map[string]string{"F#4": "F♯4", "Bb3": "B♭3", "C##5": "C𝄪5", "Abb2": "A𝄫2", "G1": "G1"} {
		p, err := ParsePitch(text)
		if err != nil || p.Pretty() != want {
			t.Errorf("%s: %s (%v)", text, p.Pretty(), err)
		}
	}
}

func TestNameOnFifths(t *testing.T) {
	for f := -21; f <= 27; f++ {
		if n := NameOnFifths(f); n.Fifths() != f {
			t.Errorf("%d: %s is at %d", f, n, n.Fifths())
		}
	}
	var order []string // of sharps and flats in signatures
	for f := 0; f < 7; f++ {
		order = append(order, NameOnFifths(f-1).String())
	}
	if !slices.Equal(order, []string{"F", "C", "G", "D", "A", "E", "B"}) {
		t.Error(order)
	}
}

func TestNearPitches(t *testing.T) {
	for _, n := range append(roots(), Name{B, 2}, Name{C, -2}) {
		for midi := 0; midi <= 127; midi++ {
			near, above, below := n.Nearest(midi).MIDI(), n.Above(midi).MIDI(), n.Below(midi).MIDI()
			if above < midi || above-midi > 11 || below > midi || midi-below > 11 {
				t.Fatalf("%s at %d: above %d, below %d", n, midi, above, below)
			}
			want := below // the lower of two equally near
			if above-midi < midi-below {
				want = above
			}
			if near != want {
				t.Fatalf("%s at %d: nearest %d, want %d", n, midi, near, want)
			}
		}
	}
}

func TestReading(t *testing.T) {
	for _, l := range []Letter{C, D, E, F, G, A, B} {
		for a := int8(-3); a <= 3; a++ {
			n := Name{l, a}
			r := n.Reading()
			if r.Class() != n.Class() || r.Alter < -1 || r.Alter > 1 || (a >= -1 && a <= 1 && r != n) {
				t.Errorf("%s reads %s", n, r)
			}
		}
	}
}

func TestComparePitch(t *testing.T) {
	ps := []string{"B#3", "C4", "Dbb4", "C#4", "Db4", "D4"}
	for i := range ps {
		for j := range ps {
			a, _ := ParsePitch(ps[i])
			b, _ := ParsePitch(ps[j])
			if got := ComparePitch(a, b); (got < 0) != (i < j) || (got == 0) != (i == j) {
				t.Errorf("%s and %s: %d", a, b, got)
			}
		}
	}
}

// FuzzParsePitch: text and pitch are exact inverses.
func FuzzParsePitch(f *testing.F) {
	for _, tt := range pitches {
		f.Add(tt.text)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if p, err := ParsePitch(s); err == nil && p.String() != s {
			t.Fatalf("%q is read as %s", s, p)
		}
		if n, err := ParseName(s); err == nil && n.String() != s {
			t.Fatalf("%q is read as %s", s, n)
		}
	})
}
