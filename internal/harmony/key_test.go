package harmony

import (
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// Plain tunes with a close: their keys are common practice, no source.
func TestEstimateKey(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"[C] C4:1/4 E4:1/4 G4:1/2 | [F] A4:1/2 F4:1/2 | [G7] G4:1/4 F4:1/4 D4:1/2 | [C] C4:1", "C major"},
		{"[Am] A4:1/4 C5:1/4 E5:1/2 | [Dm] D5:1/2 F5:1/2 | [E7] E5:1/4 D5:1/4 B4:1/2 | [Am] A4:1", "A minor"},
		{"C4:1/4 E4:1/4 G4:1/2 | A4:1/2 F4:1/2 | G4:1/4 F4:1/4 D4:1/2 | C4:1", "C major"}, // the tune alone
		{"A4:1/4 C5:1/4 E5:1/2 | D5:1/2 F5:1/2 | E5:1/4 D5:1/4 G#4:1/2 | A4:1", "A minor"},
		{"[A] A4:1/4 C#5:1/4 E5:1/2 | [G] D5:1/2 B4:1/2 | [A] C#5:1/2 A4:1/2 | [G] G4:1/2 B4:1/2 | [D] D5:1/2 F#5:1/2 | [A] A4:1", "A mixolydian"},
		{"[Am] A4:1/4 C5:1/4 E5:1/2 | [G] D5:1/2 B4:1/2 | [D] F#5:1/2 D5:1/2 | [Am] E5:1/2 F#5:1/2 | [G] G5:1/2 D5:1/2 | [Am] A4:1", "A dorian"},
		{"r:1 | r:1", "no key"},
	} {
		s := song(t, "4/4", "", tt.text)
		got, ok := EstimateKey(s)
		if got.String() != tt.want || ok != (tt.want != "no key") {
			t.Errorf("%s: %s %v, want %s", tt.text, got, ok, tt.want)
		}
	}
}

// The profile constants are the published ratings, centred and scaled: checked
// by doing it again. Krumhansl & Kessler (1982), values from memory.
func TestProfiles(t *testing.T) {
	ratings := [2][12]int{
		{635, 223, 348, 233, 438, 409, 252, 519, 239, 366, 229, 288},
		{633, 268, 352, 538, 260, 353, 254, 475, 398, 269, 334, 317},
	}
	for g, rating := range ratings {
		sum := 0
		for _, r := range rating {
			sum += r
		}
		square := 0
		for _, r := range rating {
			square += (12*r - sum) * (12*r - sum)
		}
		length := int(isqrt(uint64(square)))
		for i, r := range rating {
			if want := (12*r - sum) * 1000 / length; abs(want-profiles[g][i]) > 1 {
				t.Errorf("profile %d, class %d: %d, want %d", g, i, profiles[g][i], want)
			}
		}
	}
}

func TestKeyProblems(t *testing.T) {
	major := "[C] C4:1/4 E4:1/4 G4:1/2 | [F] A4:1/2 F4:1/2 | [G7] G4:1/4 F4:1/4 D4:1/2 | [C] C4:1 | "
	minor := "[Am] A4:1/4 C5:1/4 E5:1/2 | [Dm] D5:1/2 F5:1/2 | [E7] E5:1/4 D5:1/4 B4:1/2 | [Am] A4:1 | "
	for _, tt := range []struct {
		key, text, code string
		severity        leadsheet.Severity
		read            string
	}{
		{"C", major, "", 0, "C major"},
		{"Am", minor, "", 0, "A minor"},
		{"", major, "key-estimated", leadsheet.Info, "C major"},
		{"C", minor, "key-disagrees", leadsheet.Warning, "A minor"}, // right signature, wrong mode
		{"E", major, "key-disagrees", leadsheet.Warning, "C major"}, // begins and ends there
		{"E", strings.Replace(major, "[C]", "[Am]", 1), "key-disagrees", leadsheet.Warning, "E major"},
		{"C lydian", major, "", 0, "C lydian"}, // a mode is the sheet's to declare
		{"E", "[C] C4:1", "", 0, "E major"},    // too short to judge
	} {
		a := Analyse(song(t, "4/4", tt.key, tt.text))
		code, sev := "", leadsheet.Severity(0)
		for _, p := range a.Problems {
			code, sev = p.Code, p.Severity
		}
		if code != tt.code || sev != tt.severity || a.Key.String() != tt.read {
			t.Errorf("%q: %s %v, read in %s; want %s %v, %s", tt.key, code, sev, a.Key, tt.code, tt.severity, tt.read)
		}
	}
}

func TestRegions(t *testing.T) {
	major := "[C] C4:1/4 E4:1/4 G4:1/2 | [F] A4:1/2 F4:1/2 | [G7] G4:1/4 F4:1/4 D4:1/2 | [C] C4:1 | "
	a := Analyse(song(t, "4/4", "C", major+strings.NewReplacer("[C]", "K=D [D]", "[F]", "[G]", "[G7]", "[A7]",
		"C4", "D4", "E4", "F#4", "F4", "G4", "G4", "A4", "A4", "B4", "D4", "E4").Replace(major)))
	if len(a.Regions) != 2 || a.Regions[1].First != 4 || a.Regions[1].Estimate.String() != "D major" {
		t.Errorf("%+v", a.Regions)
	}
	for _, s := range a.Spans {
		want := "C major"
		if s.At >= 4*theory.Whole {
			want = "D major"
		}
		if s.Key.String() != want {
			t.Errorf("span at %s in %s", s.At, s.Key)
		}
	}
}

// A diminished seventh alone is the same in four keys, a minor third apart: the
// signature decides, and the estimate says that nothing else did.
func TestEstimateTies(t *testing.T) {
	var e evidence
	e.final = -1
	for _, class := range []int{11, 2, 5, 8} {
		e.melody[class] = 100
	}
	for near, want := range map[string]string{"C": "D minor", "Eb": "F minor", "A": "B minor", "Gb": "Ab minor", "F#": "G# minor", "Am": "D minor"} {
		got, margin, ok := e.estimate(key(t, near))
		if !ok || margin != 0 || got.Tonic != key(t, want).Tonic || !got.Mode.Minorish() {
			t.Errorf("near %s: %s by %d, want %s", near, got, margin, want)
		}
	}
	// Without any, the line of fifths is as good an order as another, so long as it is one.
	if got, _, _ := e.estimate(theory.Key{}); got.Tonic.String() != "F" {
		t.Errorf("near nothing: %s", got)
	}
	if _, margin, _ := (evidence{final: 0}).estimate(theory.Key{}); margin != 0 {
		t.Errorf("C alone says major or minor by %d", margin)
	}
	var even evidence
	even.final = -1
	for i := range even.melody {
		even.melody[i] = 7
	}
	if got, _, ok := even.estimate(key(t, "D")); ok || got != key(t, "D") {
		t.Errorf("all twelve alike say %s, %v", got, ok)
	}
}

// Of two enharmonic tonics the one nearer to the signature is written; without one, the
// one with fewer accidentals.
func TestSpellTonic(t *testing.T) {
	for _, tt := range []struct {
		class int
		mode  theory.Mode
		near  string
		want  string
	}{
		{6, theory.Major, "D", "F#"}, {6, theory.Major, "Bb", "Gb"}, {1, theory.Major, "E", "C#"}, {1, theory.Major, "", "Db"},
		{8, theory.Minor, "", "G#"}, {8, theory.Minor, "Eb", "Ab"}, {3, theory.Minor, "Eb", "Eb"}, {3, theory.Minor, "E", "D#"}, {11, theory.Major, "", "B"}, {6, theory.Major, "", "Gb"},
		{10, theory.Minor, "A#m", "A#"}, {0, theory.Major, "", "C"},
	} {
		var near theory.Key
		if tt.near != "" {
			near = key(t, tt.near)
		}
		if got := spellTonic(tt.class, tt.mode, near).String(); got != tt.want {
			t.Errorf("%d near %q: %s, want %s", tt.class, tt.near, got, tt.want)
		}
	}
}

// What a stretch holds: a dominant seventh that falls a fifth counts for the key that it
// reaches, and speaks for it.
func TestGather(t *testing.T) {
	s := song(t, "4/4", "C", "[C] C4:1 | [A7] E4:1/2 [Dm] F4:1/2 | [G7] D4:1/2 [C] C4:1/2 | [G7] B4:1 | [Am] A4:1")
	e := gather(s, spans(s), 0, s.End())
	if e.resolved[0] != 1 || e.resolved[2] != 1 || e.dominants != 2 || e.final != 9 || e.first != chord(t, "C") || e.last != chord(t, "Am") {
		t.Errorf("%+v", e)
	}
	if e.melody[0] != int64(3*theory.Half) || e.melody[4] != int64(theory.Half) || e.melody[1] != 0 {
		t.Errorf("the tune sounds %v", e.melody)
	}
	if e.chords[0] != 2*int64(3*theory.Half)+int64(theory.Whole) { // as a root twice, once under A minor
		t.Errorf("C in the chords for %d", e.chords[0])
	}
	plain := e
	plain.resolved[0] = 0
	if e.score(0, false) <= plain.score(0, false) {
		t.Error("a resolved dominant does not speak for its key")
	}
}
