package harmony

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/theory"
)

// TestSuccessions holds the table of successions by name, and what the trade says of
// it: V goes home, and nowhere else as gladly; ii goes to V, vi to ii and IV; what
// leads to V leads away from I. Common practice, no source.
func TestSuccessions(t *testing.T) {
	names := [places]string{"I", "ii", "iii", "IV", "V", "vi", "vii"}
	var b strings.Builder
	for from, row := range successions {
		for to, cost := range row {
			fmt.Fprintf(&b, "%s-%s %d ", names[from], names[to], cost)
		}
		b.WriteByte('\n')
	}
	const want = `I-I 2 I-ii 1 I-iii 3 I-IV 0 I-V 0 I-vi 1 I-vii 3 
ii-I 5 ii-ii 2 ii-iii 5 ii-IV 4 ii-V 0 ii-vi 4 ii-vii 1 
iii-I 5 iii-ii 3 iii-iii 4 iii-IV 1 iii-V 4 iii-vi 0 iii-vii 5 
IV-I 1 IV-ii 1 IV-iii 4 IV-IV 2 IV-V 0 IV-vi 4 IV-vii 2 
V-I 0 V-ii 6 V-iii 5 V-IV 4 V-V 2 V-vi 2 V-vii 4 
vi-I 4 vi-ii 0 vi-iii 3 vi-IV 0 vi-V 1 vi-vi 3 vi-vii 4 
vii-I 0 vii-ii 5 vii-iii 1 vii-IV 4 vii-V 3 vii-vi 4 vii-vii 4 
`
	if got := b.String(); got != want {
		t.Errorf("successions are\n%swant\n%s", got, want)
	}
	for to := range places {
		if to != one && successions[five][to] <= successions[five][one] {
			t.Errorf("V goes to %s as gladly as to I", names[to])
		}
	}
	if successions[two][five] >= successions[two][one] || successions[five][two] <= successions[two][five] {
		t.Error("ii goes to V, and V does not go back to ii")
	}
}

// TestHarmoniseCadence has a bar that could be V or ii before the last: it goes home
// by V.
func TestHarmoniseCadence(t *testing.T) {
	for _, tt := range []struct{ tune, want string }{
		{"C4:1/2 E4:1/2 | F4:1/2 A4:1/2 | D4:1 | C4:1", "C F G C"},
		{"E4:1/2 G4:1/2 | C5:1/2 E5:1/2 | F4:1/2 D4:1/2 | E4:1/2 C4:1/2", "C C G C"},
		{"C4:1/2 E4:1/2 | B4:1/2 D5:1/2 | E5:1 | D5:1 | C5:1", "C G C G C"},
		// A phrase stops on I, or on V: not on ii, though the tune would allow it.
		{"E4:1/2 G4:1/2 | F4:1/2 A4:1/2 | B4:1/2 D5:1/2 | G4:1 | E4:1/2 G4:1/2 | F4:1/2 A4:1/2 | B4:1/2 D5:1/2 | C5:1", "C F G C C F G C"},
		{"E4:1/2 G4:1/2 | F4:1/2 A4:1/2 | E4:1/2 C4:1/2 | D4:1 | E4:1/2 G4:1/2 | F4:1/2 A4:1/2 | B4:1/2 D5:1/2 | C5:1", "C F C G C F G C"},
		// An accidental asks for the dominant that has it, and that goes where it points.
		{"E4:1/2 G4:1/2 | F#4:1/2 A4:1/2 | G4:1/2 B4:1/2 | C5:1", "C D G C"},
		{"E4:1/2 G4:1/2 | E4:1/4 G#4:1/4 B4:1/2 | A4:1/2 C5:1/2 | D5:1/2 B4:1/2 | C5:1", "C E A G C"},
		{"E4:1/2 G4:1/2 | Bb4:1/2 G4:1/2 | A4:1/2 C5:1/2 | D5:1/2 B4:1/2 | C5:1", "C C F G C"},
		{"E4:1/2 G4:1/2 | A4:1/2 F4:1/2 | Ab4:1/2 F4:1/2 | G4:1/2 E4:1/2", "C F F C"},
	} {
		got, err := Harmonise(song(t, "4/4", "C", tt.tune))
		if err != nil {
			t.Fatal(err)
		}
		var roots []string
		for _, b := range got.Bars {
			for i := len(got.Chords) - 1; i >= 0; i-- {
				if got.Chords[i].At <= b.At {
					roots = append(roots, got.Chords[i].Chord.Root.String())
					break
				}
			}
		}
		if line := strings.Join(roots, " "); line != tt.want {
			t.Errorf("%s: %s, want %s", tt.tune, line, tt.want)
		}
	}
}

// TestSuccessionOfChoices: the key's own chords follow one another as the table says; a
// dominant borrowed for a chord goes to that chord, and hardly anywhere else.
func TestSuccessionOfChoices(t *testing.T) {
	for _, mode := range []theory.Mode{theory.Major, theory.Minor} {
		cs := palettes[mode]
		for _, from := range cs {
			for _, to := range cs {
				got := succession(from, to)
				switch {
				case from == to:
					if got != 2 {
						t.Errorf("%v stays for %d", from, got)
					}
				case from.kind != applied && to.kind != applied:
					if got != successions[from.place][to.place] {
						t.Errorf("%v to %v costs %d", from, to, got)
					}
				case from.kind == applied && to.kind == own && to.degree == from.degree:
					if got != 0 {
						t.Errorf("%v home to %v costs %d", from, to, got)
					}
				case from.kind == applied:
					if got < 10 {
						t.Errorf("%v astray to %v costs %d", from, to, got)
					}
				}
			}
		}
	}
}
