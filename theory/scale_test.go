package theory

import (
	"slices"
	"strings"
	"testing"
)

func TestScales(t *testing.T) {
	seen := map[Degrees]Scale{}
	for _, s := range Scales() {
		if other, ok := seen[s.Degrees()]; ok {
			t.Errorf("%s and %s are the same", s, other)
		}
		seen[s.Degrees()] = s
		if got, ok := ParseScale(s.String()); !ok || got != s {
			t.Errorf("%s reads back as %s", s, got)
		}
		last := -1
		for _, d := range s.Degrees().List() {
			if d.Semitones() <= last || d.Semitones() > 11 {
				t.Errorf("%s does not ascend within an octave: %s", s, s.Degrees())
			}
			last = d.Semitones()
		}
		if !s.Has(Degree{1, 0}) || len(s.On(Name{C, 0})) != s.Degrees().Len() {
			t.Errorf("%s on C: %v", s, s.On(Name{C, 0}))
		}
	}
	var none Scale
	if none.Valid() || none.String() != "no scale" || !none.Degrees().Empty() || none.On(Name{C, 0}) != nil {
		t.Error("the zero scale is none")
	}
	if _, ok := ParseScale("locrian natural 9"); ok {
		t.Error("an unknown scale is read")
	}
}

// TestScaleModes: modes are rotations of their parents, by sound.
func TestScaleModes(t *testing.T) {
	classes := func(s Scale) (out []int) {
		for _, d := range s.Degrees().List() {
			out = append(out, d.Class())
		}
		return out
	}
	for parent, modes := range map[Scale][]Scale{
		IonianScale:   {DorianScale, PhrygianScale, LydianScale, MixolydianScale, AeolianScale, LocrianScale},
		MelodicMinor:  {DorianFlat2, LydianAugmented, LydianDominant, MixolydianFlat6, LocrianNatural2, Altered},
		HarmonicMinor: {PhrygianDominant},
	} {
		p := classes(parent)
		for i, m := range modes {
			step := i + 1
			if parent == HarmonicMinor {
				step = 4
			}
			var want []int
			for j := range p {
				want = append(want, mod(p[(j+step)%7]-p[step], 12))
			}
			if got := classes(m); !slices.Equal(got, want) {
				t.Errorf("%s: %v, rotation %d of %s is %v", m, got, step+1, parent, want)
			}
		}
	}
	half, whole := classes(HalfWholeDiminished), classes(WholeHalfDiminished)
	for i := range half {
		if mod(half[(i+1)%8]-half[1], 12) != whole[i] {
			t.Errorf("half-whole from its second note is %v, whole-half %v", half, whole)
		}
	}
}

// The scales are those of any primer; that an augmented second is written as a reader
// expects it, and each letter at most twice: common practice, no source.
func TestScaleSpelling(t *testing.T) {
	for in, want := range map[string]string{
		"Ab lydian dominant": "Ab Bb C D Eb F Gb", "G altered": "G Ab A# B C# Eb F", "E phrygian dominant": "E F G# A B C D",
		"C whole-half diminished": "C D Eb F Gb Ab A B", "C half-whole diminished": "C Db D# E F# G A Bb",
		"F# melodic minor": "F# G# A B C# D# E#", "C blues": "C Eb F Gb G Bb", "Bb whole tone": "Bb C D E F# Ab",
	} {
		root, s, _ := strings.Cut(in, " ")
		scale, ok := ParseScale(s)
		if !ok {
			t.Fatal(s)
		}
		if got := names(scale.On(name(t, root))); got != want {
			t.Errorf("%s: %s, want %s", in, got, want)
		}
	}
}

// TestChordScales: the usual first choices without a key. Common practice, no
// source.
func TestChordScales(t *testing.T) {
	for symbol, want := range map[string]string{
		"Cmaj7": "ionian", "Cm7": "dorian", "C7": "mixolydian", "Cm7b5": "locrian", "Cdim7": "whole-half diminished",
		"C7alt": "altered", "C7(b9,b13)": "phrygian dominant", "C13(b9)": "half-whole diminished", "C7(#5)": "altered",
		"C7(#11)": "lydian dominant", "Cmaj7(#11)": "lydian", "Cmaj7(#5)": "lydian augmented", "Cm(maj7)": "melodic minor",
		"C9(#5)": "whole tone", "Caug": "whole tone", "C6": "ionian", "C7sus4": "dorian", "C7(#9,b13)": "altered", "D over C7": "lydian dominant",
	} {
		got := chord(t, symbol).Scales()
		if len(got) == 0 || got[0].String() != want {
			t.Errorf("%s: %v, want %s first", symbol, got, want)
		}
	}
	if got := chord(t, "N.C.").Scales(); got != nil {
		t.Errorf("N.C.: %v", got)
	}
	if s, ok := key(t, "C").ChordScale(Chord{}); ok {
		t.Errorf("N.C.: %s", s)
	}
}

// TestChordScalesHoldTheChord: whatever is offered has every note, but for a
// perfect fifth that no scale has beside the rest.
func TestChordScalesHoldTheChord(t *testing.T) {
	for _, q := range qualityBook().list {
		c := Chord{Root: Name{E, -1}, Tones: q.tones}
		scales := c.Scales()
		if len(scales) == 0 {
			t.Errorf("no scale for %s", c)
		}
		for _, s := range scales {
			for _, d := range q.tones.List() {
				if !s.Has(d) && !(d == Degree{5, 0} && q.suffix == "7(#9,b13)") {
					t.Errorf("%s lacks %s of %s", s, d, c)
				}
			}
		}
	}
}
