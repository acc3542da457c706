package theory

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// tonalOutput is what testdata/tonal.cjs prints.
type tonalOutput struct {
	Chords []struct {
		Root, Alias string
		Notes       []string
	}
	Scales []struct {
		Name, Root string
		Notes      []string
	}
	Intervals []struct {
		From, Interval, To, Distance string
		MIDI                         int
	}
	Keys []struct {
		Root                   string
		Major, Minor, Harmonic []string
		Signature              int
	}
}

// tonalScales: our scales under tonal's names. Ours differ in spelling where the
// last column says so.
var tonalScales = []struct {
	own       Scale
	name      string
	spelledBy string
}{
	{IonianScale, "ionian", ""}, {DorianScale, "dorian", ""}, {PhrygianScale, "phrygian", ""},
	{LydianScale, "lydian", ""}, {MixolydianScale, "mixolydian", ""}, {AeolianScale, "aeolian", ""},
	{LocrianScale, "locrian", ""}, {MelodicMinor, "melodic minor", ""}, {DorianFlat2, "dorian b2", ""},
	{LydianAugmented, "lydian augmented", ""}, {LydianDominant, "lydian dominant", ""},
	{MixolydianFlat6, "mixolydian b6", ""}, {LocrianNatural2, "locrian #2", ""}, {Altered, "altered", ""},
	{HarmonicMinor, "harmonic minor", ""}, {PhrygianDominant, "phrygian dominant", ""},
	{WholeHalfDiminished, "whole-half diminished", ""},
	{HalfWholeDiminished, "half-whole diminished", "its #9 beside the third, as in the altered scale"},
	{WholeTone, "whole tone", "b7, not #6: it is the seventh of its dominant"},
	{MajorPentatonic, "major pentatonic", ""}, {MinorPentatonic, "minor pentatonic", ""}, {Blues, "blues", ""},
}

func runTonal(t *testing.T) tonalOutput {
	t.Helper()
	node := sharedtest.Tool(t, "node")
	sharedtest.Module(t, "tonal")
	args := []string{"tonal.cjs"}
	for _, s := range tonalScales {
		args = append(args, s.name)
	}
	cmd := exec.Command(node, args...)
	cmd.Dir = "testdata"
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	raw, err := cmd.Output()
	if err != nil {
		t.Fatalf("tonal.cjs: %v\n%s", err, stderr.String())
	}
	var out tonalOutput
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// tonalUnread are aliases of tonal's dictionary that we do not take for chord
// symbols.
var tonalUnread = map[string]string{
	"^": "", "^7": "", "^9": "", "^11": "", "^13": "", "^#5": "", "^7#5": "", "^7b6": "", "^7#11": "", "^9#11": "",
	"-^7": "", "-^9": "", // a caret for the triangle
	"h": "", "h7": "", // a letter for the half-diminished sign
	"67": "", "m11A": "", "quartal": "", "phryg": "",
	"b9sus": "on a root the flat belongs to the root",
}

// tonalOther are aliases that we read as another chord.
var tonalOther = map[string]string{
	"4":    "fourths there, sus4 here, as in guides to chord symbols",
	"11":   "the third is kept, with a caution",
	"11b9": "the third is kept, with a caution",
	"7b13": "the fifth stays in the symbol", "9b13": "the fifth stays in the symbol",
	"m13": "the 11th stays over a minor third", "-13": "the 11th stays over a minor third",
	"7alt": "the whole set of alterations", "alt7": "the whole set of alterations",
	"7b5b9": "b5 takes the fifth's place", "7b9b5": "b5 takes the fifth's place",
	"7b5#9": "b5 takes the fifth's place", "7#9b5": "b5 takes the fifth's place",
	"7b5b9b13": "b5 takes the fifth's place", "7b5b13": "b5 takes the fifth's place",
	"9b5b13": "b5 takes the fifth's place", "M6b5": "b5 takes the fifth's place",
	"6b5":   "b5 takes the fifth's place",
	"M7b6":  "a flat sixth beside the fifth",
	"mb6M7": "a flat sixth beside the fifth", "mb6b9": "a flat sixth beside the fifth",
	"M7add13": "no ninth: add says what is added",
}

// tonalRespelled are aliases that both read as the same sounds, under other
// names.
var tonalRespelled = map[string]string{
	"m7#5": "the raised fifth of its name, not a flat sixth", "m9#5": "the raised fifth of its name, not a flat sixth",
	"o7M7": "the diminished seventh, not a sixth",
}

// TestTonal runs the npm library tonal (MIT) under node and compares: notes of
// every chord type on 21 roots by name, scales, intervals, keys.
func TestTonal(t *testing.T) {
	out := runTonal(t)

	same, other := 0, map[string]bool{}
	for _, c := range out.Chords {
		if _, skip := tonalUnread[c.Alias]; skip {
			continue
		}
		if strings.HasPrefix(c.Alias, "b") || strings.HasPrefix(c.Alias, "#") {
			t.Errorf("alias %q starts with an accidental", c.Alias)
			continue
		}
		s, err := ParseSymbol(c.Root + c.Alias)
		if err != nil {
			t.Error(err)
			continue
		}
		got := strings.Fields(names(s.Chord.Spell()))
		slices.Sort(got)
		want := slices.Clone(c.Notes)
		slices.Sort(want)
		if slices.Equal(got, want) {
			same++
			continue
		}
		if tonalOther[c.Alias] != "" || tonalRespelled[c.Alias] != "" && sound(t, got) == sound(t, want) {
			other[c.Alias] = true
			continue
		}
		t.Errorf("%s%s: %v, tonal has %v", c.Root, c.Alias, s.Chord.Spell(), c.Notes)
	}
	t.Logf("%d chords spelled alike, %d aliases read otherwise", same, len(other))
	for alias := range tonalOther {
		if !other[alias] {
			t.Errorf("%q is no exception", alias)
		}
	}
	for alias, why := range tonalUnread {
		if _, err := ParseSymbol("C" + alias); why == "" && err == nil {
			t.Errorf("%q can be read after all", alias)
		}
	}
	if same < 21*140 {
		t.Errorf("only %d chords compared", same)
	}

	for _, s := range out.Scales {
		i := slices.IndexFunc(tonalScales, func(x struct {
			own       Scale
			name      string
			spelledBy string
		}) bool {
			return x.name == s.Name
		})
		root, _ := ParseName(s.Root)
		got := tonalScales[i].own.On(root)
		if tonalScales[i].spelledBy == "" {
			if names(got) != strings.Join(s.Notes, " ") {
				t.Errorf("%s %s: %s, tonal has %v", s.Root, s.Name, names(got), s.Notes)
			}
			continue
		}
		if len(got) != len(s.Notes) {
			t.Fatalf("%s %s: %s, tonal has %v", s.Root, s.Name, names(got), s.Notes)
		}
		for j, n := range s.Notes {
			if theirs, err := ParseName(n); err != nil || theirs.Class() != got[j].Class() {
				t.Errorf("%s %s: %s, tonal has %v", s.Root, s.Name, names(got), s.Notes)
			}
		}
	}
	if len(out.Scales) != 21*len(Scales()) {
		t.Errorf("%d scales compared, want %d", len(out.Scales), 21*len(Scales()))
	}

	for _, x := range out.Intervals {
		from, err := ParsePitch(x.From)
		if err != nil {
			t.Fatal(err)
		}
		iv, err := ParseInterval(ownInterval(x.Interval))
		if err != nil {
			t.Fatal(err)
		}
		to := from.Up(iv)
		if to.String() != x.To || to.MIDI() != x.MIDI {
			t.Errorf("%s + %s = %s (%d), tonal has %s (%d)", x.From, x.Interval, to, to.MIDI(), x.To, x.MIDI)
		}
		if got := Between(from, to).String(); got != ownInterval(x.Distance) {
			t.Errorf("%s to %s is %s, tonal has %s", x.From, x.To, got, x.Distance)
		}
	}

	for _, k := range out.Keys {
		root, _ := ParseName(k.Root)
		major, minor := Key{root, Major}, Key{root, Minor}
		if got := major.Scale(); names(got[:]) != strings.Join(k.Major, " ") {
			t.Errorf("%s: %s, tonal has %v", major, names(got[:]), k.Major)
		}
		if got := minor.Scale(); names(got[:]) != strings.Join(k.Minor, " ") {
			t.Errorf("%s: %s, tonal has %v", minor, names(got[:]), k.Minor)
		}
		if got := HarmonicMinor.On(root); names(got) != strings.Join(k.Harmonic, " ") {
			t.Errorf("%s: %s, tonal has %v", minor, names(got), k.Harmonic)
		}
		if major.Fifths() != k.Signature {
			t.Errorf("%s has %d fifths, tonal %d", major, major.Fifths(), k.Signature)
		}
	}
}

// sound returns the pitch classes of names, in order.
func sound(t *testing.T, ns []string) string {
	var in [12]bool
	for _, s := range ns {
		n, err := ParseName(s)
		if err != nil {
			t.Fatal(err)
		}
		in[n.Class()] = true
	}
	return fmt.Sprint(in)
}

// ownInterval turns "-3M" into "-M3".
func ownInterval(s string) string {
	sign := ""
	if t, ok := strings.CutPrefix(s, "-"); ok {
		sign, s = "-", t
	}
	i := strings.IndexFunc(s, func(r rune) bool { return r < '0' || r > '9' })
	n, _ := strconv.Atoi(s[:i])
	return sign + s[i:] + strconv.Itoa(n)
}
