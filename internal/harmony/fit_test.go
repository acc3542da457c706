package harmony

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

// A held note against a chord. Avoided minor ninths and the root over a major
// seventh: Pease & Pullig, Modern Jazz Voicings (excerpt). The rest: common
// practice, no source.
func TestFitsHeldNote(t *testing.T) {
	for _, tt := range []struct{ chord, note, want string }{
		{"C", "C4", "fits"}, {"C", "E4", "fits"}, {"C", "D4", "fits"}, {"C", "A4", "fits"}, {"C", "B4", "fits"},
		{"C", "F4", "refuse"}, {"C", "F#4", "caution"}, {"C", "Db4", "refuse"}, {"C", "Ab4", "refuse"}, {"C", "Eb4", "refuse"},
		{"Cmaj7", "C4", "caution"}, {"C6", "C4", "fits"}, {"Cmaj7", "Bb4", "refuse"},
		{"C7", "D4", "fits"}, {"C7", "Db4", "fits"}, {"C7", "Eb4", "caution"}, {"C7", "F#4", "fits"}, {"C7", "Ab4", "fits"},
		{"C7", "A4", "fits"}, {"C7", "F4", "refuse"}, {"C7", "B4", "refuse"},
		{"C7(b9)", "D4", "refuse"}, {"C9", "Db4", "refuse"}, {"C7(b9)", "A4", "fits"}, {"C7alt", "G4", "refuse"}, {"C7alt", "A4", "refuse"},
		{"C13", "Ab4", "refuse"}, {"C7sus4", "F4", "fits"}, {"C7sus4", "E4", "caution"}, {"C7sus4", "B4", "refuse"},
		{"Cm7", "D4", "fits"}, {"Cm7", "F4", "fits"}, {"Cm7", "A4", "caution"}, {"Cm7", "Ab4", "refuse"}, {"Cm7", "Db4", "refuse"}, {"Cm7", "E4", "refuse"},
		{"Cm7b5", "Ab4", "fits"}, {"Cm7b5", "F4", "fits"}, {"Cm7b5", "Db4", "refuse"}, {"Cm7b5", "G4", "refuse"},
		// Diminished: its tones and what lies a whole step above one.
		{"Cdim7", "D4", "fits"}, {"Cdim7", "F4", "fits"}, {"Cdim7", "Ab4", "fits"}, {"Cdim7", "B4", "fits"},
		{"Cdim7", "Db4", "refuse"}, {"Cdim7", "E4", "refuse"}, {"Cdim7", "G4", "refuse"}, {"Cdim7", "Bb4", "refuse"},
		{"C5", "E4", "fits"}, {"C5", "Eb4", "fits"}, {"C5", "Db4", "refuse"},
		{"", "C4", "fits"},
	} {
		s := song(t, "4/4", "C", tt.note+":1")
		f := Fits(s, chord(t, tt.chord), 0, theory.Whole)
		if f.Verdict.String() != tt.want {
			t.Errorf("%s over %s: %s, want %s", tt.note, tt.chord, f, tt.want)
		}
	}
}

// The substitute dominant, melody read from the root it stands for: the map of
// the rule "tritone_sub" in the trade tables (D♭7 for G7).
func TestFitsTritoneSubstitute(t *testing.T) {
	data, err := os.ReadFile(sharedtest.Path(t, "tables/reharm_rules.json"))
	if err != nil {
		t.Fatal(err)
	}
	var rules struct {
		Rules []struct {
			ID  string            `json:"id"`
			Map map[string]string `json:"melody_map_from_V"`
		} `json:"rules"`
	}
	if err := json.Unmarshal(data, &rules); err != nil {
		t.Fatal(err)
	}
	words := map[string]Verdict{"ok": Fitting, "caution": Caution, "reject": Refused}
	checked := 0
	for _, r := range rules.Rules {
		for from, to := range r.Map {
			d, err := theory.ParseDegree(from)
			if err != nil {
				t.Fatal(err)
			}
			var degree, word string
			if _, err := fmt.Sscan(to, &degree, &word); err != nil {
				t.Fatal(err)
			}
			name := d.On(theory.Name{Letter: theory.G})
			s := song(t, "4/4", "C", name.String()+"4:1")
			f := FitsSpan(s, Span{End: theory.Whole, Chord: chord(t, "Db7"), Function: Substitute})
			if f.Verdict != words[word] {
				t.Errorf("%s of G7 is %s of Db7: %s, want %s", from, degree, f, word)
			}
			checked++
		}
	}
	if checked != 12 {
		t.Errorf("%d of 12 degrees checked", checked)
	}
}

// A weak note may pass over a chord that has it not. Common practice, no source.
func TestFitsMotion(t *testing.T) {
	for _, tt := range []struct {
		text, chord string
		want        string
	}{
		{"E4:1/4 F4:1/4 G4:1/2", "C", "fits"},    // the 11 passes
		{"E4:1/4 G4:1/2 F4:1/4", "C", "caution"}, // a weak 11 with nowhere to go
		{"E4:1/2 G4:3/8 F4:1/8", "C", "caution"}, // …a short one
		{"E4:1/4 F4:3/8 C4:3/8", "C", "refuse"},  // more than a beat, and left by leap
		{"F4:1/4 E4:3/4", "C", "refuse"},         // leans on the downbeat for a beat
		{"F4:1/8 E4:7/8", "C", "fits"},           // a short one may
		{"r:1", "C", "fits"},
		{"E4:1/2 F4:1/4 E4:1/4", "C", "refuse"}, // a beat on a strong one is exposed
		{"E4:1/4 F4:1/4 E4:1/2", "C", "fits"},   // …on a weak one is not
		{"E4:1/4 F4:1/2 E4:1/4", "C", "refuse"}, // two beats are, wherever
		{"E4:1/4 r:1/4 F4:3/8 E4:1/8", "C", "refuse"},
		{"E4:1/2 E4:1/8 F4:3/8", "C", "refuse"}, // more than a beat, left by nothing
		{"E4:1/2 E4:1/4 F4:1/8 r:1/8", "C", "caution"},
		{"E4:1/4 F4:1/8 r:1/8 E4:1/2", "C", "caution"}, // a rest as long as the note parts it from its goal
		{"E4:1/4 F4:1/4 r:1/8 E4:3/8", "C", "fits"},
	} {
		s := song(t, "4/4", "C", tt.text)
		if f := Fits(s, chord(t, tt.chord), 0, theory.Whole); f.Verdict.String() != tt.want {
			t.Errorf("%s over %s: %s, want %s", tt.text, tt.chord, f, tt.want)
		}
	}
}

// The nearer to the chord, the cheaper: nothing for its own notes, the more for a tension,
// for a delicate note and for a wrong one; and the more the longer it is.
func TestFitsCost(t *testing.T) {
	cost := func(note, long, ch string) int {
		return Fits(song(t, "4/4", "C", note+":"+long), chord(t, ch), 0, theory.Whole).Cost
	}
	own, tension, delicate, wrong := cost("E4", "1/2", "Cmaj7"), cost("D4", "1/2", "Cmaj7"), cost("C4", "1/2", "Cmaj7"), cost("Db4", "1/2", "Cmaj7")
	if own != 0 || tension <= own || delicate <= tension || wrong <= delicate {
		t.Errorf("%d, %d, %d, %d", own, tension, delicate, wrong)
	}
	for _, note := range []string{"D4", "C4", "Db4"} {
		if cost(note, "1", "Cmaj7") <= cost(note, "1/2", "Cmaj7") {
			t.Errorf("%s costs no more when it is longer", note)
		}
	}
}

// What is said of a note that does not fit, and what a chord's function adds. Common
// practice, no source.
func TestFitsSays(t *testing.T) {
	for _, tt := range []struct {
		chord, note string
		function    Function
		want        string
	}{
		{"C", "F", None, "refuse: a half step above the 3"},
		{"C", "Ab", None, "refuse: a half step above the 5"},
		{"C", "Eb", None, "refuse: a half step below the 3"},
		{"C7", "B", None, "refuse: a half step above the b7"},
		{"Cm", "B", None, "caution: delicate on this chord"},
		{"Cm", "Bb", None, "fits: "},
		{"Cm", "E", None, "refuse: a half step above the b3"},
		{"Cmaj7", "C", None, "caution: the root over a major seventh: use 6"},
		{"C7", "Eb", None, "caution: the sharp 9, with the 3 a major seventh below it"},
		{"C7(b9)", "D", None, "refuse: the chord alters its 9"},
		{"C7(#9)", "D", None, "refuse: the chord alters its 9"},
		{"C9", "Db", None, "refuse: the chord has a natural 9"},
		{"C9", "Eb", None, "refuse: the chord has a natural 9"},
		{"C7(b13)", "A", None, "refuse: the chord has a flat 13"},
		{"C7(#5)", "A", None, "refuse: the chord has a flat 13"},
		{"C13", "Ab", None, "refuse: the chord has a natural 13"},
		{"C6", "Ab", None, "refuse: the chord has a natural 13"},
		{"C7(#5)", "G", None, "refuse: the chord alters its 5"},
		{"C7(b5)", "G", None, "refuse: the chord alters its 5"},
		{"C7(#11)", "F", None, "refuse: the chord has a sharp 11"},
		{"Cm11", "F#", None, "refuse: a half step above the 11"},
		{"C7(#5)", "Bb", None, "fits: "},
		{"C7(#5)", "D", None, "fits: "},
		{"C7(#5)", "Db", None, "fits: "},
		{"C7(#5)", "Eb", None, "caution: delicate on this chord"},
		{"C+", "D", None, "fits: "},
		{"C+", "Bb", None, "fits: "},
		{"C+", "B", None, "caution: delicate on this chord"},
		{"C6", "B", None, "fits: "},
		{"C6", "F#", None, "caution: delicate on this chord"},
		{"C6", "Bb", None, "refuse: a half step above the 6"},
		{"Db7", "D", Substitute, "refuse: the 5 of the dominant that it stands for"},
		{"Db7", "A", Substitute, "caution: altered, which makes it sound like the dominant that it stands for"},
		{"Bb7", "B", Borrowed, "refuse: the 5 of the dominant that it stands for"},
		{"Bb7", "B", Applied, "fits: "},
		{"Bb", "B", Substitute, "refuse: a half step above the 1"},
		{"Gm7", "E", Related, "refuse: the third of the dominant that it prepares"},
		{"Gm7", "E", Subdominant, "caution: delicate on this chord"},
		{"Gm", "F#", Related, "refuse: the third of the dominant that it prepares"},
		{"Gm", "A", Related, "fits: "},
		{"C", "D", Substitute, "fits: "},
	} {
		f := FitsSpan(song(t, "4/4", "C", tt.note+"4:1"), Span{End: theory.Whole, Chord: chord(t, tt.chord), Function: tt.function})
		if got := f.Verdict.String() + ": " + f.Notes[0].Why; got != tt.want {
			t.Errorf("%s over %s, %s: %q, want %q", tt.note, tt.chord, tt.function, got, tt.want)
		}
	}
}

// A note held into the stretch counts from its beginning, and only that long.
func TestFitsHeldInto(t *testing.T) {
	s := song(t, "4/4", "C", "F4:3/4 G4:1/4")
	if f := Fits(s, chord(t, "C"), theory.Half, theory.Whole); f.Verdict != Refused || len(f.Notes) != 2 {
		t.Errorf("F held into C: %s", f)
	}
	if f := Fits(s, chord(t, "C"), 3*theory.Quarter, theory.Whole); f.Verdict != Fitting || len(f.Notes) != 1 {
		t.Errorf("G over C: %s", f)
	}
}

func ExampleFits() {
	s, _ := parseSong("4/4", "C", "G4:1/2 Bb4:1/2")
	sym, _ := theory.ParseSymbol("A7")
	fmt.Println(Fits(s, sym.Chord, 0, theory.Whole))
	// Output: A7 fits: G is b7, Bb is b9
}
