package theory

import (
	"strings"
	"testing"
)

// TestSpelling: strict and reading spelling beyond the chord table.
func TestSpelling(t *testing.T) {
	for _, tt := range []struct{ symbol, strict, reading string }{
		{"Cdim7", "C Eb Gb Bbb", "C Eb Gb A"},
		{"B#7(#9)", "B# D## F## A# C###", "B# E G A# D#"},
		{"Fbdim7", "Fb Abb Cbb Ebbb", "Fb G Bb Db"},
		{"C7/A#", "A# C E G", "A# C E G"},
		{"Abm/Cb", "Cb Ab Eb", "Cb Ab Eb"},
		{"F#m over C7", "C E G Bb F# A C#", "C E G Bb F# A C#"},
	} {
		c := chord(t, tt.symbol)
		if got := names(c.Spell()); got != tt.strict {
			t.Errorf("%s: %s, want %s", c, got, tt.strict)
		}
		if got := names(c.SpellReading()); got != tt.reading {
			t.Errorf("%s in reading form: %s, want %s", c, got, tt.reading)
		}
	}
}

// TestSpellLetters: degree n takes the letter n−1 above the root, so no letter
// comes twice but with two ninths, or a 4 beside an 11.
func TestSpellLetters(t *testing.T) {
	for _, q := range qualityBook().list {
		for _, root := range roots() {
			seen := map[Letter]bool{}
			for i, n := range (Chord{Root: root, Tones: q.tones}).Spell() {
				d := q.tones.List()[i]
				if want := Letter(mod(int(root.Letter)+int(d.Number)-1, 7)); n.Letter != want {
					t.Errorf("%s%s: %s is on the wrong letter", root, q.suffix, n)
				}
				if seen[n.Letter] && d.Number != 9 && d.Number != 7 {
					t.Errorf("%s%s: two notes on %s", root, q.suffix, n.Letter)
				}
				seen[n.Letter] = true
			}
		}
	}
}

// TestHarmonicSpelling: common practice, no source; the substitute's seventh
// and the single odd letters as in any text on writing for readers.
func TestHarmonicSpelling(t *testing.T) {
	for _, tt := range []struct{ key, chord, want string }{
		// The chord's own notes, then the key's, then tensions; twelve keys from C4.
		{"C", "C", "C4 Db4 D4 Eb4 E4 F4 F#4 G4 Ab4 A4 Bb4 B4"},
		{"C", "A7", "C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4 A4 Bb4 B4"},
		{"C", "Db7", "C4 Db4 D4 Eb4 E4 F4 Gb4 G4 Ab4 A4 Bb4 B4"}, // B is its seventh and the leading tone
		{"C", "Ab7", "C4 Db4 D4 Eb4 E4 F4 F#4 G4 Ab4 A4 Bb4 B4"}, // F♯ leads to G
		{"C", "Cdim7", "C4 Db4 D4 Eb4 E4 F4 Gb4 G4 Ab4 A4 Bb4 B4"},
		{"C", "Abm", "C4 Db4 D4 Eb4 E4 F4 Gb4 G4 Ab4 A4 Bb4 B4"}, // C♭ is odd in C
		{"Gb", "Abm", "C4 Db4 D4 Eb4 E4 F4 Gb4 G4 Ab4 A4 Bb4 Cb5"},
		{"F#", "C#7", "C4 C#4 D4 D#4 E4 E#4 F#4 G4 G#4 A4 A#4 B4"},
		{"G#m", "D#7", "C4 C#4 D4 D#4 E4 E#4 F#4 F##4 G#4 A4 A#4 B4"}, // F𝄪 is the leading tone
		{"Am", "E7", "C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4 A4 A#4 B4"},
		{"F", "C7(#9)", "C4 Db4 D4 D#4 E4 F4 F#4 G4 Ab4 A4 Bb4 B4"},
	} {
		k, c := key(t, tt.key), chord(t, tt.chord)
		var got []string
		for midi := 60; midi < 72; midi++ {
			p := HarmonicSpelling(k, c, midi)
			if p.MIDI() != midi {
				t.Fatalf("%d over %s in %s is spelled %s (%d)", midi, c, k, p, p.MIDI())
			}
			got = append(got, p.String())
		}
		if s := strings.Join(got, " "); s != tt.want {
			t.Errorf("over %s in %s:\n got %s\nwant %s", c, k, s, tt.want)
		}
	}
}

// TestHarmonicSpellingAlways: every key on the piano gets a name that sounds and
// reads, whatever the key and chord; chord notes keep their names unless these
// are odd.
func TestHarmonicSpellingAlways(t *testing.T) {
	keys := []Key{{}}
	for f := -7; f <= 7; f++ {
		keys = append(keys, KeyOf(f, Major), KeyOf(f, Minor), KeyOf(f, Dorian))
	}
	chords := []Chord{{}}
	for _, q := range qualityBook().list {
		for _, n := range []string{"C", "F#", "Bb", "Cb"} {
			chords = append(chords, Chord{Root: name(t, n), Tones: q.tones})
		}
	}
	for _, k := range keys {
		for _, c := range chords {
			for midi := 55; midi < 67; midi++ {
				p := HarmonicSpelling(k, c, midi)
				if p.MIDI() != midi {
					t.Fatalf("%d over %s in %s is spelled %s", midi, c, k, p)
				}
				if p.Alter > 1 || p.Alter < -1 {
					if own, ok := k.nameOf(p.Class()); !ok || own != p.Name {
						t.Fatalf("%d over %s in %s is spelled %s", midi, c, k, p)
					}
				}
			}
		}
	}
}

// A half step from below is raised, from above lowered, unless a plain name is nearer:
// common practice, no source.
func TestApproachSpelling(t *testing.T) {
	for _, tt := range []struct{ key, target, below, above string }{
		{"C", "D4", "C#4", "Eb4"}, {"C", "E4", "D#4", "F4"}, {"C", "C4", "B3", "Db4"}, {"F", "A4", "G#4", "Bb4"},
		{"F", "G4", "F#4", "Ab4"}, {"Eb", "Bb4", "A4", "B4"}, {"E", "G#4", "G4", "A4"}, {"Am", "A4", "G#4", "Bb4"},
		{"Gb", "Gb4", "F4", "G4"}, {"C", "Gb4", "F4", "G4"},
	} {
		k := key(t, tt.key)
		target, _ := ParsePitch(tt.target)
		if got := ApproachSpelling(k, target.MIDI()-1, target); got.String() != tt.below {
			t.Errorf("below %s in %s: %s, want %s", target, k, got, tt.below)
		}
		if got := ApproachSpelling(k, target.MIDI()+1, target); got.String() != tt.above {
			t.Errorf("above %s in %s: %s, want %s", target, k, got, tt.above)
		}
		for midi := 40; midi < 90; midi++ {
			if got := ApproachSpelling(k, midi, target); got.MIDI() != midi {
				t.Fatalf("%d towards %s in %s: %s", midi, target, k, got)
			}
		}
	}
}

func BenchmarkHarmonicSpelling(b *testing.B) {
	k := key(b, "F")
	for _, symbol := range []string{"C7", "Gb7", "Bdim7"} {
		c := chord(b, symbol)
		b.Run("chord="+symbol+"/notes=12", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				for midi := 60; midi < 72; midi++ {
					HarmonicSpelling(k, c, midi)
				}
			}
		})
	}
}

func BenchmarkRoman(b *testing.B) {
	k := key(b, "F")
	for _, symbol := range []string{"C7", "Gb7", "Bdim7"} {
		c := chord(b, symbol)
		b.Run("chord="+symbol, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				k.Roman(c)
			}
		})
	}
}
