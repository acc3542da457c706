package harmony

import (
	"strings"
	"testing"

	"gradatim/theory"
)

var chromatic = strings.Fields("C Db D Eb E F Gb G Ab A Bb B")

// TestBears lists of all twelve notes those that a chord on C does not bear. Diminished,
// minor and major: what lies no whole step above a chord tone (the general test of
// Berklee's HARM 121 note). Dominants: common practice, no source.
func TestBears(t *testing.T) {
	for _, tt := range []struct{ chord, next, refused string }{
		{"C7", "F", "F B"},
		{"C7", "Fm", "F B"},
		{"C7", "", "Db Eb F Ab B"},
		{"C7", "B", "Db Eb F Ab B"}, // a substitute: D♭ is the fifth of the G♭7 that it stands for
		{"C7sus4", "F", "Db Eb E Gb Ab B"},
		{"C", "F", "Db Eb F Ab Bb"},
		{"Cmaj7", "F", "Db Eb F Ab Bb"},
		{"Cm", "F", "Db E Gb Ab B"},
		{"Cm7", "F", "Db E Gb Ab B"},
		{"Cm6", "F", "Db E Gb Ab Bb B"},
		{"Cm7b5", "F", "Db E G A B"},
		{"Cdim7", "Db", "Db E G Bb"},
		{"C+", "F", "Db Eb F G A B"},
		{"C5", "F", "Db Eb E F Gb Ab Bb B"},
		{"C7/Db", "", "Eb F Ab B"}, // the bass sounds
	} {
		var refused []string
		for _, w := range chromatic {
			n, err := theory.ParseName(w)
			if err != nil {
				t.Fatal(err)
			}
			if !Bears(chord(t, tt.chord), chord(t, tt.next), n) {
				refused = append(refused, w)
			}
		}
		if got := strings.Join(refused, " "); got != tt.refused {
			t.Errorf("%s before %q does not bear %s, want %s", tt.chord, tt.next, got, tt.refused)
		}
	}
}

// A note counts for as long as it sounds in the stretch: held into it, or struck within.
func TestBearsAll(t *testing.T) {
	s := song(t, "4/4", "C", "F4:1/4 E4:1/4 G4:1/4 B4:1/8 Bb4:1/8 | C5:1")
	c, q := chord(t, "C"), theory.Quarter
	for _, tt := range []struct {
		from, to theory.Dur
		want     bool
	}{
		{0, q, false}, {q / 2, q, false}, {q, 2 * q, true}, {q, 3 * q, true}, {q, 3*q + q/2, true}, {q, 4 * q, false},
		{3*q + q/2, 4 * q, false}, {4 * q, 8 * q, true}, {0, 8 * q, false}, {9 * q, 10 * q, true},
	} {
		if got := BearsAll(s, c, theory.Chord{}, tt.from, tt.to); got != tt.want {
			t.Errorf("%s to %s: %v", where(s, tt.from), where(s, tt.to), got)
		}
	}
}

// Twelve bars, or choruses of twelve: I, IV in the fifth, V or ii in the ninth. Common
// practice, no source.
func TestTwelveBar(t *testing.T) {
	blues := "C7 F7 C7 C7 F7 F7 C7 C7 G7 F7 C7 G7"
	for _, tt := range []struct {
		name, pickup, chords string
		want                 bool
	}{
		{"plain", "", blues, true},
		{"two choruses", "", blues + " " + blues, true},
		{"with a pick-up", "G4:1/4 | ", blues, true},
		{"ii in the ninth", "", "C7 F7 C7 C7 F7 F#dim7 C7 A7 Dm7 G7 C7 G7", true},
		{"eleven bars", "", strings.TrimSuffix(blues, " G7"), false},
		{"thirteen bars", "", blues + " C7", false},
		{"one chorus and a half", "", blues + " C7 F7 C7 C7 F7 F7", false},
		{"I in the fifth", "", "C7 F7 C7 C7 C7 F7 C7 C7 G7 F7 C7 G7", false},
		{"IV in the ninth", "", "C7 F7 C7 C7 F7 F7 C7 C7 F7 F7 C7 G7", false},
		{"IV in the first", "", "F7 F7 C7 C7 F7 F7 C7 C7 G7 F7 C7 G7", false},
		{"silence in the fifth", "", "C7 F7 C7 C7 NC F7 C7 C7 G7 F7 C7 G7", false},
	} {
		text := tt.pickup
		for _, c := range strings.Fields(tt.chords) {
			text += "[" + c + "] C4:1/2 G4:1/2 | "
		}
		s := song(t, "4/4", "C", text)
		if got := Analyse(s).TwelveBar(s); got != tt.want {
			t.Errorf("%s: %v", tt.name, got)
		}
	}
	if s := song(t, "4/4", "C", strings.Repeat("C4:1 | ", 12)); Analyse(s).TwelveBar(s) {
		t.Error("twelve bars without chords are no blues")
	}
}

// A bass is the sheet's own where it is written as such, or goes by step through three
// chords and more in one direction. Common practice, no source.
func TestLines(t *testing.T) {
	for _, tt := range []struct{ chords, want string }{
		{"C F D G", "----"},
		{"C G/B Am F", "xxx-"},
		{"C A G D", "----"},
		{"C Dm Em F", "xxxx"},
		{"Am G F E", "xxxx"},
		{"Am G F C", "xxx-"},
		{"C Dm C F", "----"},
		{"C/C F", "--"}, // its root as a bass is no line
		{"C/E G", "x-"},
		{"C Dm NC Em F", "----"},
		{"C B7 Bb7 G", "xxx-"},
	} {
		a := Analyse(song(t, "4/4", "C", bars(len(strings.Fields(tt.chords)), strings.Fields(tt.chords)...)))
		got := ""
		for _, s := range a.Spans {
			switch {
			case !s.Sounding():
			case s.Line:
				got += "x"
			default:
				got += "-"
			}
		}
		if got != tt.want {
			t.Errorf("%s: %s, want %s", tt.chords, got, tt.want)
		}
	}
}
