package harmony

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

// spanOf reads one chord between its neighbours in a key, with the span after.
func spanOf(t testing.TB, k, prev, chordName, nextName string) (s, next Span) {
	t.Helper()
	ss := []Span{{Chord: chord(t, prev), Silent: prev == ""}, {Chord: chord(t, chordName)}, {Chord: chord(t, nextName), Silent: nextName == ""}}
	for i := range ss {
		ss[i].Key = key(t, k)
	}
	readSpans(ss)
	return ss[1], ss[2]
}

func degrees(ds []theory.Degree) string {
	var w []string
	for _, d := range ds {
		w = append(w, d.String())
	}
	return strings.Join(w, " ")
}

// Available tensions. The diatonic set and the secondary dominants: Berklee
// harmony course note (HARM 121): I 9 13; ii 9 11; iii 11; IV 9 ♯11 13; V 9 13;
// vi 9 11; viiø 11 ♭13; V7/ii 9 ♭13; V7/iii and V7/vi ♭9 ♯9 ♭13; V7/IV and V7/V
// 9 13. The other rows: common practice, no source.
var tensionRows = []struct{ key, prev, chord, next, melody, want string }{
	{"C", "G7", "Cmaj7", "F", "", "9 13"},
	{"C", "C", "Dm7", "G7", "", "9 11"},
	{"C", "C", "Em7", "Am7", "", "11"},
	{"C", "C", "Fmaj7", "G7", "", "9 13 #11"},
	{"C", "F", "G7", "C", "", "9 13"},
	{"C", "C", "Am7", "Dm7", "", "9 11"},
	{"C", "C", "Bm7b5", "C", "", "11 b13"},
	{"C", "C", "A7", "Dm7", "", "9 b13"},
	{"C", "C", "B7", "Em7", "", "b9 #9 b13"},
	{"C", "C", "C7", "F", "", "9 13"},
	{"C", "C", "D7", "G7", "", "9 13"},
	{"C", "C", "E7", "Am7", "", "b9 #9 b13"},

	{"C", "Dm7", "Db7", "C", "", "9 #11 13"},
	{"C", "Fm7", "Bb7", "C", "", "9 #11 13"},
	{"C", "F", "Fm7", "Bb7", "", "9 13 11"},
	{"C", "C", "Abmaj7", "G7", "", "9 #11 13"},
	{"C", "F", "G7", "Cm", "", "b9 b13 #9"},
	{"Am", "E7", "Am7", "Dm7", "", "9 11"},
	{"Am", "E7", "Am6", "Dm7", "", "9 11"}, // 13 is its 6
	{"Am", "Am", "Bm7b5", "E7", "", "11 b13"},
	{"Am", "Bm7b5", "E7", "Am", "", "b9 b13 #9"},
	{"Am", "Am", "A7", "Dm", "", "b9 b13 #9"},
	{"Am", "Am", "G7", "C", "", "9 13"},
	{"Am", "Am", "G#dim7", "Am", "", "b13 7"}, // of A♯, C♯, E and G the last two are in the key
	{"C", "G7", "C7", "F7", "", "9 13"},
	{"C", "C7", "F7", "C7", "", "9 13"},
	{"C", "F", "G7sus4", "G7", "", "9 13"},
	{"C", "F", "G7alt", "C", "", ""},
	{"C", "F", "G13", "C", "", ""},

	// The melody is a voice.
	{"C", "F", "G7", "C", "A", "9 13"},
	{"C", "F", "G7", "C", "Ab", "b9 13"},
	{"C", "F", "G7", "C", "Eb", "b13 9"},
	{"C", "C", "E7", "Am7", "B", "b9 #9"},  // the natural 5 forbids ♭13
	{"C", "C", "E7", "Am7", "C#", "b9 #9"}, // the natural 13 forbids ♭13
	{"C", "C", "Fmaj7", "G7", "C", "9 13"}, // ♯11 would lie a half step under it
	{"C", "C", "Fmaj7", "G7", "B", "#11 9 13"},
	{"C", "C", "Dm7", "G7", "F", "9 11"},
}

func TestTensions(t *testing.T) {
	for _, tt := range tensionRows {
		s, next := spanOf(t, tt.key, tt.prev, tt.chord, tt.next)
		var melody []theory.Name
		for _, w := range strings.Fields(tt.melody) {
			n, err := theory.ParseName(w)
			if err != nil {
				t.Fatal(err)
			}
			melody = append(melody, n)
		}
		c := Tensions(s, next, melody)
		if got := degrees(c.Available()); got != tt.want {
			t.Errorf("%s: %s to %s under %q (%s): %s, want %s", tt.key, tt.chord, tt.next, tt.melody, c.Context, got, tt.want)
		}
	}
}

// A tension is available where it lies a whole step above a chord tone: the
// general test of the same course note, with dominants excepted.
func TestAvailableIsAWholeStepAbove(t *testing.T) {
	chords := map[string]string{"I": "1 3 5 7", "ii": "1 b3 5 b7", "iii": "1 b3 5 b7", "IV": "1 3 5 7", "vi": "1 b3 5 b7", "vii": "1 b3 b5 b7"}
	for place, tones := range chords {
		set, err := theory.ParseDegrees(tones)
		if err != nil {
			t.Fatal(err)
		}
		for _, tension := range tensionTable()[[2]string{"major", place}].tensions {
			whole := set.Len() > 0 && func() bool {
				for _, d := range set.List() {
					if (tension.Degree.Class()-d.Class()+12)%12 == 2 {
						return true
					}
				}
				return false
			}()
			if tension.Use == Available && !whole || tension.Use == Avoid && whole {
				t.Errorf("%s: %s is %s, whole step above a chord tone: %v", place, tension.Degree, tension.Use, whole)
			}
		}
	}
}

// Every row can be read, and holds what it needs.
func TestTensionTable(t *testing.T) {
	rows := 0
	for line := range strings.Lines(tensionsTSV) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		rows++
		r, err := parseRow(strings.TrimSuffix(line, "\n"))
		if err != nil {
			t.Error(err)
			continue
		}
		if r.rule == "" {
			t.Errorf("%s has no rule", r.context)
		}
		// What the table says that it follows, it follows: on C, of C major.
		if strings.HasPrefix(r.rule, "a note of the") {
			home := key(t, "C")
			root := map[string]string{"I": "C", "ii": "D", "iii": "E", "IV": "F", "V": "G", "vi": "A", "vii": "B",
				"V/ii": "A", "V/iii": "B", "V/IV": "C", "V/V": "D", "V/vi": "E"}[r.place]
			for _, x := range r.tensions {
				in := keyClasses(home)>>((chord(t, root).Root.Class()+x.Degree.Class())%12)&1 == 1
				if x.Use == Available && !in {
					t.Errorf("%s: %s is not in the key", r.context, x.Degree)
				}
			}
		}
		seen := map[theory.Degree]bool{}
		for _, x := range r.tensions {
			if seen[x.Degree] {
				t.Errorf("%s lists %s twice", r.context, x.Degree)
			}
			seen[x.Degree] = true
			if x.Use == Available && !r.scale.Has(x.Degree) && !(r.scale == theory.PhrygianDominant && x.Degree == dg(9, 1)) {
				t.Errorf("%s: available %s is not in %s", r.context, x.Degree, r.scale)
			}
		}
	}
	if len(tensionTable()) != rows {
		t.Errorf("%d rows, %d contexts", rows, len(tensionTable()))
	}
}

// Against the trade table: what it calls available in one word, ours calls
// available too.
func TestTensionsAgainstTradeTable(t *testing.T) {
	data, err := os.ReadFile(sharedtest.Path(t, "tables/tensions.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	ours := map[string]string{ // their context and function: our row
		"major key I": "major I", "major key ii": "major ii", "major key iii": "major iii", "major key IV": "major IV",
		"major key V": "major V", "major key vi": "major vi", "major key vii": "major vii",
		"major key V7/iii": "major V/iii", "major key V7/IV": "major V/IV", "major key V7/vi": "major V/vi",
		"major key subV7/x (tritone substitute)": "any subV", "major key bVII7 (backdoor)": "major bVII7",
		"minor key bIII": "minor bIII", "minor key bVI": "minor bVI", "minor key bVII": "minor bVII",
		"any alt": "any alt", "any aug 7 (whole tone)": "any 7#5", "any aug maj7": "any maj7#5",
	}
	checked := 0
	for line := range strings.Lines(string(data)) {
		f := strings.Split(strings.TrimRight(line, "\n"), "\t")
		row, ok := ours[f[0]+" "+f[1]]
		if !ok {
			continue
		}
		checked++
		mode, place, _ := strings.Cut(row, " ")
		have := tensionTable()[[2]string{mode, place}]
		want := map[string]Use{}
		for _, w := range strings.Fields(strings.ReplaceAll(f[4], "13(6)", "13")) {
			want[w] = Available
		}
		got := map[string]Use{}
		for _, x := range have.tensions {
			if x.Use == Available {
				got[x.Degree.String()] = Available
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: %v, the table has %v", row, got, want)
		}
	}
	if checked != len(ours) {
		t.Errorf("checked %d rows of %d", checked, len(ours))
	}
}

func TestClashes(t *testing.T) {
	// Pease & Pullig, Modern Jazz Voicings (excerpt): a minor ninth is avoided but
	// for ♭9 over a dominant's root. The rest: common practice, no source.
	for _, tt := range []struct {
		a, b     string
		distance int
		want     Severity
	}{
		{"1", "b9", 13, Fine}, {"7", "1", 13, Hard}, {"7", "1", 1, Soft}, {"7", "1", -11, 0},
		{"b7", "13", 11, 0}, {"b7", "13", -13, Hard}, {"13", "b7", 13, Hard}, {"13", "b7", 1, Soft},
		{"3", "11", 13, Hard}, {"11", "3", 1, Hard}, {"b3", "11", 14, Fine},
		{"9", "b9", 1, Hard}, {"b9", "#9", 2, Fine}, {"5", "b13", 13, 0}, {"5", "b13", 1, Hard},
		{"#11", "5", 13, Hard}, {"5", "#11", 11, Soft}, {"#9", "3", 13, Hard}, {"3", "#9", 11, 0}, {"1", "5", 7, 0},
	} {
		a, err1 := theory.ParseDegree(tt.a)
		b, err2 := theory.ParseDegree(tt.b)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if got := Worst(a, b, tt.distance); got != tt.want {
			t.Errorf("%s to %s at %d: %d, want %d", tt.a, tt.b, tt.distance, got, tt.want)
		}
		if got := Worst(b, a, -tt.distance); got != tt.want {
			t.Errorf("%s to %s turned round: %d, want %d", tt.b, tt.a, got, tt.want)
		}
	}
}

func ExampleTensions() {
	c, _ := theory.ParseKey("C")
	read := func(s string) theory.Chord { sym, _ := theory.ParseSymbol(s); return sym.Chord }
	s := Span{Chord: read("A7"), Key: c}
	next := Span{Chord: read("Dm7"), Key: c}
	r := Read(c, theory.Chord{}, s.Chord, next.Chord)
	s.Function, s.Target, s.Resolves = r.Function, r.Target, r.Resolves
	colour := Tensions(s, next, []theory.Name{{Letter: theory.G}})
	fmt.Println(colour.Context, colour.Available(), colour.Scale)
	// Output: major V/ii [9 b13] mixolydian b6
}

func TestDegreesByClass(t *testing.T) {
	n := 0
	for class, ds := range degreesByClass {
		for i, d := range ds {
			n++
			if d.Class() != class || i > 0 && ds[i-1].Number > d.Number {
				t.Errorf("%s in row %d at %d", d, class, i)
			}
		}
	}
	if n != 50 { // ten numbers, five alterations
		t.Errorf("%d degrees", n)
	}
}
