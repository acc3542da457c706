package theory

import "testing"

// intervals is the unit table of intervals and the seed of the fuzz test; sizes as in any
// primer.
var intervals = []struct {
	text, from, to string
}{
	{"P1", "C4", "C4"}, {"m2", "E4", "F4"}, {"M2", "C4", "D4"}, {"A2", "Ab4", "B4"}, {"m3", "A3", "C4"},
	{"M3", "C4", "E4"}, {"M3", "F#4", "A#4"}, {"d4", "G#4", "C5"}, {"P4", "C4", "F4"}, {"A4", "F4", "B4"},
	{"d5", "B4", "F5"}, {"P5", "Bb3", "F4"}, {"A5", "C4", "G#4"}, {"m6", "E4", "C5"}, {"M6", "C4", "A4"},
	{"d7", "G#4", "F5"}, {"m7", "C4", "Bb4"}, {"M7", "C4", "B4"}, {"P8", "C4", "C5"}, {"m9", "E4", "F5"},
	{"M10", "C3", "E4"}, {"P15", "C3", "C5"}, {"A1", "C4", "C#4"}, {"-A1", "C#4", "C4"}, {"-m2", "C5", "B4"},
	{"-M3", "E4", "C4"}, {"-P5", "G4", "C4"}, {"-P8", "C5", "C4"}, {"d2", "C#4", "Db4"}, {"AA4", "Fb4", "B4"},
	{"ddd5", "F#4", "Cbb5"}, {"A7", "C4", "B#4"},
}

func TestInterval(t *testing.T) {
	for _, tt := range intervals {
		iv, err := ParseInterval(tt.text)
		if err != nil {
			t.Error(err)
			continue
		}
		from, err1 := ParsePitch(tt.from)
		to, err2 := ParsePitch(tt.to)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if iv.String() != tt.text {
			t.Errorf("%s is written %s", tt.text, iv)
		}
		if got := from.Up(iv); got != to {
			t.Errorf("%s up %s is %s, want %s", from, iv, got, to)
		}
		if got := to.Up(iv.Neg()); got != from {
			t.Errorf("%s down %s is %s, want %s", to, iv, got, from)
		}
		if got := Between(from, to); got != iv {
			t.Errorf("%s to %s is %s, want %s", from, to, got, iv)
		}
	}
	for _, bad := range []string{"", "P", "3", "M5", "P3", "m4", "M0", "M23", "P-5", "-P1", "P5x", "p5", "AAAA4", "M3 "} {
		if iv, err := ParseInterval(bad); err == nil {
			t.Errorf("%q is read as %s", bad, iv)
		}
	}
}

// TestTransposition: going up and down again returns, and nothing goes through
// MIDI, so that spelling survives.
func TestTransposition(t *testing.T) {
	for _, a := range roots() {
		for _, b := range roots() {
			iv := NameInterval(a, b)
			if iv.Steps < 0 || iv.Steps > 6 {
				t.Fatalf("%s to %s: %s", a, b, iv)
			}
			if got := a.Up(iv); got != b {
				t.Errorf("%s up %s is %s, want %s", a, iv, got, b)
			}
			p := a.At(4)
			if got := p.Up(iv).Up(iv.Neg()); got != p {
				t.Errorf("%s up and down %s is %s", p, iv, got)
			}
			if got := p.Up(iv); got.MIDI()-p.MIDI() != int(iv.Semitones) || got.Staff()-p.Staff() != int(iv.Steps) {
				t.Errorf("%s up %s is %s", p, iv, got)
			}
		}
	}
}

// FuzzParseInterval: text and interval are exact inverses.
func FuzzParseInterval(f *testing.F) {
	for _, tt := range intervals {
		f.Add(tt.text)
	}
	f.Fuzz(func(t *testing.T, s string) {
		iv, err := ParseInterval(s)
		if err != nil {
			return
		}
		if iv.String() != s {
			t.Fatalf("%q is read as %s", s, iv)
		}
		if p := (Name{C, 0}.At(4)); p.Up(iv).Up(iv.Neg()) != p {
			t.Fatalf("%s up and down again is %s", iv, p.Up(iv).Up(iv.Neg()))
		}
	})
}
