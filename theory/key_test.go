package theory

import "testing"

// keys is the unit table of keys and the seed of the fuzz test; signatures as in
// any table of key signatures.
var keys = []struct {
	text   string
	fifths int
	scale  string
}{
	{"C major", 0, "C D E F G A B"}, {"G major", 1, "G A B C D E F#"}, {"F major", -1, "F G A Bb C D E"},
	{"F# major", 6, "F# G# A# B C# D# E#"}, {"Gb major", -6, "Gb Ab Bb Cb Db Eb F"}, {"Cb major", -7, "Cb Db Eb Fb Gb Ab Bb"},
	{"C# major", 7, "C# D# E# F# G# A# B#"}, {"A minor", 0, "A B C D E F G"}, {"E minor", 1, "E F# G A B C D"},
	{"C minor", -3, "C D Eb F G Ab Bb"}, {"D# minor", 6, "D# E# F# G# A# B C#"}, {"D dorian", 0, "D E F G A B C"},
	{"E phrygian", 0, "E F G A B C D"}, {"F lydian", 0, "F G A B C D E"}, {"G mixolydian", 0, "G A B C D E F"},
	{"A aeolian", 0, "A B C D E F G"}, {"B locrian", 0, "B C D E F G A"}, {"A dorian", 1, "A B C D E F# G"},
	{"D mixolydian", 1, "D E F# G A B C"}, {"Bb lydian", -1, "Bb C D E F G A"}, {"G# major", 8, "G# A# B# C# D# E# F##"},
}

func TestKey(t *testing.T) {
	for _, tt := range keys {
		k, err := ParseKey(tt.text)
		if err != nil {
			t.Error(err)
			continue
		}
		s := k.Scale()
		if k.String() != tt.text || k.Fifths() != tt.fifths || names(s[:]) != tt.scale {
			t.Errorf("%s: %s, %d fifths, %s", tt.text, k, k.Fifths(), names(s[:]))
		}
		if got := KeyOf(tt.fifths, k.Mode); got != k {
			t.Errorf("%d fifths %s: %s", tt.fifths, k.Mode, got)
		}
		if got := names(ScaleOf(k.Mode).On(k.Tonic)); got != tt.scale {
			t.Errorf("%s: the mode's scale is %s", k, got)
		}
		for _, n := range s {
			if !k.Contains(n) || k.Contains(Name{n.Letter, n.Alter + 1}) {
				t.Errorf("%s: %s", k, n)
			}
		}
	}
	for text, want := range map[string]string{
		"F": "F major", "Dm": "D minor", "GMix": "G mixolydian", "A Dorian": "A dorian", "Bb min": "Bb minor",
		"C#m": "C# minor", " Eb  major ": "Eb major", "CM": "C major", "D ionian": "D major", "B♭": "Bb major",
	} {
		if k, err := ParseKey(text); err != nil || k.String() != want {
			t.Errorf("%q: %s, %v", text, k, err)
		}
	}
	for _, bad := range []string{"", "H", "x", "Cmi", "C majorr", "C dorianx", "7", "m"} {
		if k, err := ParseKey(bad); err == nil {
			t.Errorf("%q is read as %s", bad, k)
		}
	}
	if (Key{}).Valid() || (Key{}).String() != "no key" || (Key{Mode: 99}).Valid() {
		t.Error("the zero key is no key")
	}
}

// A name is a degree of the major scale on the tonic, raised or lowered: by definition.
func TestKeyDegree(t *testing.T) {
	for _, tt := range []struct {
		key, name     string
		degree, alter int
	}{
		{"C", "Eb", 3, -1}, {"Cm", "Eb", 3, -1}, {"C", "B", 7, 0}, {"Cm", "Bb", 7, -1}, {"F", "B", 4, 1},
		{"D", "Fb", 3, -2}, {"Gb", "Cb", 4, 0}, {"C", "Cb", 1, -1}, {"C", "B#", 7, 1}, {"D dorian", "F", 3, -1},
	} {
		k, _ := ParseKey(tt.key)
		n, _ := ParseName(tt.name)
		if d, a := k.Degree(n); d != tt.degree || a != tt.alter {
			t.Errorf("%s in %s: %d, %d", n, k, d, a)
		}
	}
}

// TestKeyTransposition: a key moves with its whole scale.
func TestKeyTransposition(t *testing.T) {
	for m := Major; m <= Locrian; m++ {
		for _, a := range roots() {
			for _, b := range roots() {
				k := Key{a, m}
				moved := k.Transpose(NameInterval(a, b))
				from, to := k.Scale(), moved.Scale()
				for i := range from {
					if from[i].Up(NameInterval(a, b)) != to[i] {
						t.Fatalf("%s to %s: %v", k, moved, to)
					}
				}
			}
		}
	}
}

// FuzzParseKey: what is read is valid and reads back.
func FuzzParseKey(f *testing.F) {
	for _, tt := range keys {
		f.Add(tt.text)
	}
	f.Fuzz(func(t *testing.T, s string) {
		k, err := ParseKey(s)
		if err != nil {
			return
		}
		if again, err := ParseKey(k.String()); err != nil || again != k || !k.Valid() {
			t.Fatalf("%q is %s, which is %s (%v)", s, k, again, err)
		}
		if again, err := ParseKey(k.Pretty()); err == nil && again != k {
			t.Fatalf("%q is %s, which is %s", s, k.Pretty(), again)
		}
	})
}
