package harmony

import (
	"strings"
	"testing"

	"gradatim/theory"
)

// TestTensionPlaces says which row of the table a chord takes its tensions from: by its
// sound where that says it all, else by what it does, the chord after it included.
// Common practice, no source.
func TestTensionPlaces(t *testing.T) {
	met := map[string]bool{}
	for _, tt := range []struct{ key, prev, chord, next, want string }{
		// The seven of major.
		{"C", "G7", "Cmaj7", "F", "major I"}, {"C", "C", "Dm7", "G7", "major ii"}, {"C", "C", "Em7", "Am7", "major iii"},
		{"C", "C", "Fmaj7", "G7", "major IV"}, {"C", "F", "G7", "C", "major V"}, {"C", "F", "G", "C", "major V"},
		{"C", "C", "Am7", "Dm7", "major vi"}, {"C", "C", "Bm7b5", "C", "major vii"},
		{"C", "F", "G7", "Cm", "any V/minor"}, {"C", "F", "G7", "Am", "major V"},
		// Minor.
		{"Am", "E7", "Am", "Dm", "minor i"}, {"Am", "E7", "Am7", "Dm", "minor i"}, {"Am", "E7", "Am6", "Dm", "minor i6"}, {"Am", "E7", "Am(maj7)", "Dm", "minor i6"},
		{"Am", "Am", "Bm7b5", "E7", "minor ii"}, {"Am", "Am", "C", "F", "minor bIII"}, {"Am", "Am", "Dm7", "E7", "minor iv"},
		{"Am", "Am", "Em7", "Am", "minor v"}, {"Am", "Dm", "E7", "Am", "minor V"}, {"Am", "Dm", "E", "Am", "minor V"},
		{"Am", "C", "F", "E7", "minor bVI"}, {"Am", "F", "G", "Am", "minor bVII"}, {"Am", "F", "G7", "Am", "minor bVII"},
		{"Am", "F", "G#dim7", "Am", "minor vii"}, {"Am", "Am", "D7", "Am", "blues IV7"},
		// Applied dominants, by where they point.
		{"C", "C", "A7", "Dm", "major V/ii"}, {"C", "C", "B7", "Em", "major V/iii"}, {"C", "C", "C7", "F", "major V/IV"},
		{"C", "C", "D7", "G7", "major V/V"}, {"C", "C", "E7", "Am", "major V/vi"}, {"C", "C", "C7", "Fm", "any V/minor"},
		{"C", "C", "E7", "F", "major V/vi"}, {"C", "C", "F7", "Bb", "any V/major"},
		{"Am", "Am", "G7", "C", "any V/major"}, {"Am", "Am", "C7", "F", "any V/major"}, {"Am", "Am", "A7", "Dm", "any V/minor"}, {"Am", "Am", "B7", "E7", "any V/minor"},
		{"Am", "Am", "B7", "Dm", "any V/minor"}, {"Am", "Am", "Bb7", "Eb", "any V/major"},
		{"C", "C", "F#m7b5", "G7", "any m7b5"}, {"C", "C", "G#dim7", "Am", "any dim7"},
		// What prepares them, and what stands for them.
		{"C", "C", "Bm7b5", "E7", "any m7b5"}, {"C", "C", "Gm7", "C7", "any m"},
		{"C", "Dm7", "Db7", "C", "any subV"}, {"C", "C", "Ab7", "G7", "any subV"},
		// Borrowed.
		{"C", "Fm7", "Bb7", "C", "major bVII7"}, {"C", "C", "Dm7b5", "G7", "major iim7b5"}, {"C", "F", "Fm6", "C", "major iv"},
		{"C", "C", "Abmaj7", "G7", "major bmaj"}, {"C", "C", "Bb", "F", "major bmaj"}, {"C", "C", "Gm", "F", "any m"}, {"Am", "Am", "F#m", "D", "any m"},
		// Blues.
		{"C", "G7", "C7", "F7", "blues I7"}, {"C", "C7", "F7", "C7", "blues IV7"}, {"A mixolydian", "G", "A7", "G", "any dominant"},
		// By sound alone.
		{"C", "F", "G7sus4", "G7", "any sus"}, {"C", "F", "Gsus4", "G", "any sus"}, {"C", "F", "C#dim7", "Dm7", "any dim7"}, {"C", "F", "Bdim", "C", "any dim7"},
		{"C", "C", "Cmaj7(#5)", "F", "any maj7#5"}, {"C", "F", "G7alt", "C", "any alt"}, {"C", "F", "G7(b9,b5)", "C", "any alt"}, {"C", "F", "G7(#5)", "C", "any 7#5"}, {"C", "F", "G7(#9)", "C", "major V"},
		{"C", "C", "C+", "F", "any 7#5"}, {"C", "G", "C5", "F", "any open"},
		// Where none of these is told.
		{"C", "C", "F#m", "F", "any m"}, {"C", "C", "F#m7b5", "F", "any m7b5"}, {"C", "C", "F#", "F", "any maj"}, {"C", "Em7", "Ebm7", "Dm7", "any m"},
		{"A dorian", "Am", "D", "Am", "any maj"}, {"C", "F", "C/G", "G7", "major I"},
	} {
		s, next := spanOf(t, tt.key, tt.prev, tt.chord, tt.next)
		got := Tensions(s, next, nil).Context
		if got != tt.want {
			t.Errorf("%s: %s–%s–%s (%s): %s, want %s", tt.key, tt.prev, tt.chord, tt.next, s.Function, got, tt.want)
		}
		met[got] = true
	}
	for _, r := range tensionTable() {
		if !met[r.context] {
			t.Errorf("no chord takes the row %q", r.context)
		}
	}
}

// TestTensionsUnderTune has one note of the tune over a chord and says of one tension how
// it may be used then. The tune is a voice: common practice, no source.
func TestTensionsUnderTune(t *testing.T) {
	for _, tt := range []struct {
		chord, next, melody, tension string
		want                         Use
		why                          string
	}{
		{"G7", "C", "", "9", Available, ""}, {"G7", "C", "A", "9", Available, ""},
		{"G7", "C", "Ab", "9", Avoid, "the melody has b9"}, {"G7", "C", "A#", "9", Avoid, "the melody has #9"},
		{"G7", "C", "A", "b9", Avoid, "the melody has the natural 9"}, {"E7", "Am", "F#", "#9", Avoid, "the melody has the natural 9"},
		{"E7", "Am", "C#", "b13", Avoid, "the melody has the natural 13"}, {"E7", "Am", "B", "b13", Avoid, "the melody has the natural 5"},
		{"G7", "C", "Eb", "13", Avoid, "the melody has the flat 13"}, {"G7", "C", "F", "13", Conditional, "a half step under the melody's b7: only a major seventh above it"},
		{"Fmaj7", "G7", "C", "#11", Avoid, "a half step under the melody's 5"}, {"Fmaj7", "G7", "Bb", "#11", Avoid, "the melody has the natural 11"},
		{"Dm7", "G7", "G#", "11", Avoid, "the melody has #11"}, {"Am7", "Dm7", "D", "11", Available, ""},
		{"E7", "Am", "G#", "#9", Avoid, "a half step under the melody's 3"},
		{"Dm7", "G7", "B", "13", Available, "the melody has it"},
		{"Dm7", "G7", "C", "13", Conditional, "13 is the leading tone of the key and announces V too early; fine where the chord stays"},
		{"B7", "Em", "C#", "9", Avoid, ""},
		{"C+", "F", "Db", "b9", Available, "the melody has it: alter to match"}, // an augmented triad is a dominant, too
		{"C7(#5)", "F", "Db", "b9", Available, "the melody has it: alter to match"},
		{"Cmaj7(#5)", "F", "A", "13", Avoid, ""},
		{"B7", "Em", "Fb", "11", Avoid, ""}, // a natural 11 is no alteration: the tune passes, the chord keeps its third
	} {
		s, next := spanOf(t, "C", "C", tt.chord, tt.next)
		var melody []theory.Name
		if tt.melody != "" {
			n, err := theory.ParseName(tt.melody)
			if err != nil {
				t.Fatal(err)
			}
			melody = append(melody, n)
		}
		d, err := theory.ParseDegree(tt.tension)
		if err != nil {
			t.Fatal(err)
		}
		c := Tensions(s, next, melody)
		if got := c.Use(d); got != tt.want {
			t.Errorf("%s of %s under %q: %s, want %s", tt.tension, tt.chord, tt.melody, got, tt.want)
		}
		for _, x := range c.Tensions {
			if x.Degree == d && tt.why != "" && x.Why != tt.why {
				t.Errorf("%s of %s under %q: %q, want %q", tt.tension, tt.chord, tt.melody, x.Why, tt.why)
			}
		}
	}
}

// The order of use over a diminished chord: what the key has comes first.
func TestDiminishedTensionsInKeyFirst(t *testing.T) {
	for _, tt := range []struct{ chord, next string }{{"C#dim7", "Dm7"}, {"F#dim7", "G7"}, {"Ebdim7", "Dm7"}} {
		s, next := spanOf(t, "C", "C", tt.chord, tt.next)
		got := degrees(Tensions(s, next, nil).Available())
		in, out := true, false
		for _, w := range strings.Fields(got) {
			d, err := theory.ParseDegree(w)
			if err != nil {
				t.Fatal(err)
			}
			here := keyClasses(s.Key)>>((s.Chord.Root.Class()+d.Class())%12)&1 == 1
			if here && !in {
				out = true
			}
			in = here
		}
		if out || got == "" {
			t.Errorf("%s: %s", tt.chord, got)
		}
	}
}
