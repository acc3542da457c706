package theory

import "testing"

func TestDegree(t *testing.T) {
	for _, tt := range []struct {
		text, pretty string
		semitones    int
		onC          string
	}{
		{"1", "1", 0, "C"}, {"b3", "♭3", 3, "Eb"}, {"3", "3", 4, "E"}, {"4", "4", 5, "F"}, {"b5", "♭5", 6, "Gb"},
		{"#5", "♯5", 8, "G#"}, {"6", "6", 9, "A"}, {"bb7", "♭♭7", 9, "Bbb"}, {"b7", "♭7", 10, "Bb"}, {"7", "7", 11, "B"},
		{"b9", "♭9", 13, "Db"}, {"9", "9", 14, "D"}, {"#9", "♯9", 15, "D#"}, {"11", "11", 17, "F"}, {"#11", "♯11", 18, "F#"},
		{"b13", "♭13", 20, "Ab"}, {"13", "13", 21, "A"},
	} {
		d, err := ParseDegree(tt.text)
		if err != nil {
			t.Error(err)
			continue
		}
		if d.String() != tt.text || d.Pretty() != tt.pretty || d.Semitones() != tt.semitones ||
			d.Class() != tt.semitones%12 || d.On(Name{C, 0}).String() != tt.onC {
			t.Errorf("%s: %s, %s, %d semitones, %s on C", tt.text, d, d.Pretty(), d.Semitones(), d.On(Name{C, 0}))
		}
	}
	for _, bad := range []string{"", "b", "14", "0", "-1", "bbb7", "#b5", "5#", "1 3", "03"} {
		if d, err := ParseDegree(bad); err == nil {
			t.Errorf("%q is read as %s", bad, d)
		}
	}
}

// TestDegrees: every degree has its own place in a set.
func TestDegrees(t *testing.T) {
	var all Degrees
	n := 0
	for number := int8(1); number <= 13; number++ {
		for a := int8(-2); a <= 2; a++ {
			d := Degree{number, a}
			if all.Has(d) {
				t.Fatalf("%s shares its place", d)
			}
			all = all.With(d)
			n++
			if !all.Has(d) || all.Len() != n || all.Without(d).Has(d) || all.Without(d).With(d) != all {
				t.Fatalf("%s", d)
			}
			if one := DegreesOf(d); one.Len() != 1 || one.List()[0] != d || one.Empty() {
				t.Fatalf("%s: %s", d, one)
			}
		}
	}
	s, err := ParseDegrees("1 b3 5 b7 9")
	if err != nil || s.String() != "1 b3 5 b7 9" || s.Len() != 5 {
		t.Errorf("%s, %v", s, err)
	}
	if _, err := ParseDegrees("1 x"); err == nil {
		t.Error("x is a degree")
	}
	if !(Degrees{}).Empty() || (Degrees{}).String() != "" {
		t.Error("the zero set is empty")
	}
}
