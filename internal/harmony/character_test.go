package harmony

import (
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Styles from what a sheet shows. Common practice, no source.
func TestCharacter(t *testing.T) {
	quarters := strings.Repeat("C4:1/4 E4:1/4 G4:1/4 E4:1/4 | ", 4)
	eighths := strings.Repeat("C4:1/8 D4:1/8 E4:1/8 F4:1/8 G4:1/8 F4:1/8 E4:1/8 D4:1/8 | ", 4)
	blues := ""
	for _, c := range strings.Fields("C7 . . . F7 . C7 . G7 F7 C7 .") {
		if c != "." {
			blues += "[" + c + "] "
		}
		blues += "C4:1/2 Eb4:1/2 | "
	}
	for _, tt := range []struct {
		name, meter, key, text, rhythm, title string
		tempo                                 int
		feel                                  leadsheet.Feel
		style                                 Style
		played                                leadsheet.Feel
	}{
		{"four beats", "4/4", "C", "[C] " + quarters + "[Am] E4:1 | [A7] E4:1 | [Dm] D4:1 | [D7] D4:1 | [G7] D4:1 | [C] C4:1", "", "", 0, 0, Pop, leadsheet.Straight},
		{"slow", "4/4", "Dm", "[Dm] D4:1 | [A7] E4:1 | [Dm] D4:1", "", "", 66, 0, Ballad, leadsheet.Straight},
		{"three beats", "3/4", "C", "[C] C4:3/4 | [G7] D4:3/4 | [C] C4:3/4", "", "", 120, 0, Waltz, leadsheet.Straight},
		{"jig", "6/8", "G", "[G] G4:3/4 | [D] D4:3/4 | [G] G4:3/4", "", "", 0, 0, Folk, leadsheet.Straight},
		{"running eighths", "4/4", "C", "[C] " + eighths, "", "", 0, 0, Folk, leadsheet.Straight},
		{"named", "4/4", "C", "[C] " + quarters, "bossa nova", "", 0, 0, Bossa, leadsheet.Straight},
		{"swung", "4/4", "C", "[C] " + quarters, "", "", 0, leadsheet.Swing, Swing, leadsheet.Swing},
		{"sevenths", "4/4", "C", "[Cmaj7] C4:1 | [A7] E4:1 | [Dm7] F4:1 | [G7] D4:1 | [Em7] E4:1 | [A7] E4:1 | [Dm7] D4:1 | [G7] D4:1 | [C6] C4:1", "", "", 0, 0, Swing, leadsheet.Swing},
		{"twelve bars", "4/4", "C", blues, "", "", 0, 0, Blues, leadsheet.Swing},
		{"title", "4/4", "C", "[C] " + quarters, "", "Kitchen Blues", 0, 0, Blues, leadsheet.Swing},
		{"straight wins", "4/4", "C", blues, "", "", 0, leadsheet.Straight, Blues, leadsheet.Straight},
	} {
		s := song(t, tt.meter, tt.key, tt.text)
		s.Rhythm, s.Title, s.Feel = tt.rhythm, tt.title, tt.feel
		if tt.tempo > 0 {
			s.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: tt.tempo}
		}
		c := Analyse(s).Character
		if c.Style != tt.style || c.Feel != tt.played {
			t.Errorf("%s: %s, %s, want %s, %s: %v", tt.name, c.Style, c.Feel, tt.style, tt.played, c.Reasons)
		}
		if len(c.Reasons) == 0 || c.Reasons[0].Style != c.Style {
			t.Errorf("%s: the first reason is not for %s: %v", tt.name, c.Style, c.Reasons)
		}
	}
}

// Every name and every sentence exists.
func TestWords(t *testing.T) {
	for f := Tonic; f <= Chromatic; f++ {
		s := Span{Chord: chord(t, "A7"), Key: key(t, "C"), Function: f, Target: theory.Name{Letter: theory.D}}
		s.Roman = Reading{Function: f, Target: s.Target}.Roman(s.Key, s.Chord)
		if s.Explain() == "" || f.String() == "unknown" {
			t.Errorf("function %d has no words", f)
		}
	}
	var words []string
	for i := range uint8(20) {
		for _, w := range []string{Function(i).String(), Cadence(i).String(), RoleKind(i).String(), Style(i).String(), Use(i).String(), Verdict(i).String()} {
			if w == "" || w == "unknown" {
				continue
			}
			words = append(words, w)
		}
	}
	if n := len(words); n != int(Chromatic)+1+int(Deceptive)+1+int(Free)+1+int(Folk)+int(Avoid)+int(Refused) {
		t.Errorf("%d words: %q", n, words)
	}
}
