package theory

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// classes returns the sorted pitch classes of a chord over its root: "0,4,7".
func classes(c Chord) string {
	var in [12]bool
	for _, d := range c.Tones.List() {
		in[d.Class()] = true
	}
	var s []string
	for i, on := range in {
		if on {
			s = append(s, fmt.Sprint(i))
		}
	}
	return strings.Join(s, ",")
}

// decided says how the project reads what libraries read differently.
var decided = map[string]struct{ classes, why string }{
	"C11":    {"0,2,4,5,7,10", "all of the stack, with a caution; playing it as 9sus4 is left to the arranger"},
	"Cmaj11": {"0,2,4,5,7,11", "as C11"},
	"C13":    {"0,2,4,7,9,10", "the 11th against a major third is left out"},
	"Cm13":   {"0,2,3,5,7,9,10", "over a minor third the 11th stays"},
	"C7b9b5": {"0,1,4,6,10", "an altered fifth takes the fifth's place"},
	"C7b5b9": {"0,1,4,6,10", "an altered fifth takes the fifth's place"},
	"C7#9b5": {"0,3,4,6,10", "an altered fifth takes the fifth's place"},
	"C7b5#9": {"0,3,4,6,10", "an altered fifth takes the fifth's place"},
	"C7b9b13": {"0,1,4,7,8,10",
		"the fifth stays in the symbol; a voicing leaves it out"},
	"C7#9b13": {"0,3,4,7,8,10",
		"the fifth stays in the symbol; a voicing leaves it out"},
	"C7alt": {"0,1,3,4,6,8,10", "both ninths, #11 and b13; no fifth"},
	"C4":    {"0,5,7", "sus4, with a caution"},
	"Cdim9": {"0,2,3,6,9", "a ninth over the diminished seventh"},
}

// TestSymbolConsensus compares with three libraries on 157 suffixes: tonal's
// table, chord-symbol 4.0.0 (both MIT) and music21's table (BSD-3), collected in
// data/chords/symbol_consensus.tsv. Where they agree we must; where they differ
// our decision is stated above; what one alone reads is compared too, with the
// one exception named.
func TestSymbolConsensus(t *testing.T) {
	own := map[string]string{
		"7b13": "the fifth stays, as in 7b9b13: it is for the voicing to leave it out",
	}
	agree, differ, single := 0, 0, 0
	for _, r := range readTSV(t, sharedtest.Path(t, "data/chords/symbol_consensus.tsv")) {
		s, err := ParseSymbol(r["symbol"])
		if err != nil {
			t.Errorf("%v (%s)", err, r["agreement"])
			continue
		}
		got := classes(s.Chord)
		if s.Chord.Root != (Name{}) { // "C#5" is a chord on C sharp, there as here
			if !strings.HasPrefix(r["suffix"], "b") && !strings.HasPrefix(r["suffix"], "#") {
				t.Errorf("%s: root %s", r["symbol"], s.Chord.Root)
			}
		}
		theirs := []string{r["pcs_tonal"], r["pcs_chord-symbol"], r["pcs_music21"]}
		switch r["agreement"] {
		case "agree":
			agree++
			if own[r["suffix"]] == "" && !slices.Contains(theirs, got) {
				t.Errorf("%s: %s, libraries agree on %v", r["symbol"], got, theirs)
			}
		case "DIFFER":
			differ++
			if d := decided[r["symbol"]]; got != d.classes {
				t.Errorf("%s: %s, decided %s", r["symbol"], got, d.classes)
			}
		case "single":
			single++
			if !slices.Contains(theirs, got) {
				t.Errorf("%s: %s, one library has %v", r["symbol"], got, theirs)
			}
		}
	}
	if agree != 103 || differ != 13 || single != 38 || len(decided) != 13 {
		t.Errorf("%d agree, %d differ, %d single; %d decided", agree, differ, single, len(decided))
	}
}

// TestSpelledChords compares note names with data/chords/spelled_chords.tsv: 21
// roots by 29 shorthands of Harte 2005, spelled by letter arithmetic.
func TestSpelledChords(t *testing.T) {
	full := map[string]string{ // the data stack the 11th as well
		"13":    "13(add11)",
		"maj13": "maj13(add11)",
	}
	n := 0
	for _, r := range readTSV(t, sharedtest.Path(t, "data/chords/spelled_chords.tsv")) {
		suffix := r["shorthand"]
		if f, ok := full[suffix]; ok {
			suffix = f
		}
		if suffix == "1" {
			suffix = "5(no5)"
		}
		s, err := ParseSymbol(r["root"] + suffix)
		if err != nil {
			t.Error(err)
			continue
		}
		n++
		if got := names(s.Chord.Spell()); got != r["notes_spelled_by_degree"] {
			t.Errorf("%s%s: %s, want %s", r["root"], r["shorthand"], got, r["notes_spelled_by_degree"])
		}
	}
	if n != 21*29 {
		t.Errorf("%d rows compared, want %d", n, 21*29)
	}
}

// TestMusic21Types compares with music21's harmony.CHORD_TYPES (BSD-3), as kept
// in data/chords/music21_chord_types.tsv.
func TestMusic21Types(t *testing.T) {
	other := map[string]string{
		"13": "our 13 leaves out the 11th", "dom13": "our 13 leaves out the 11th",
		"M13": "our 13 leaves out the 11th", "Maj13": "our 13 leaves out the 11th",
		"+M13": "our 13 leaves out the 11th", "augmaj13": "our 13 leaves out the 11th",
		"+13": "our 13 leaves out the 11th", "aug13": "our 13 leaves out the 11th",
		"N6": "", "It+6": "", "It": "", "Fr+6": "", "Fr": "", "Gr+6": "", "Ger": "", // names of functions
		"pedal": "", "tristan": "", // no chord symbols
	}
	n := 0
	for _, r := range readTSV(t, sharedtest.Path(t, "data/chords/music21_chord_types.tsv")) {
		why, skip := other[r["suffix"]]
		s, err := ParseSymbol("C" + r["suffix"])
		if skip {
			if why == "" != (err != nil) {
				t.Errorf("C%s: %v", r["suffix"], err)
			}
			continue
		}
		n++
		if err != nil {
			t.Error(err)
		} else if got := classes(s.Chord); got != r["pcs_rel"] {
			t.Errorf("C%s: %s, music21 has %s", r["suffix"], got, r["pcs_rel"])
		}
	}
	if n < 75 {
		t.Errorf("only %d rows compared", n)
	}
}

// TestTensionTable compares the scale chosen for each chord in a key with
// tables/tensions.tsv (diatonic rows after a Berklee harmony-course note; the
// rest from memory of common practice).
func TestTensionTable(t *testing.T) {
	c, _ := ParseKey("C")
	am, _ := ParseKey("Am")
	tests := []struct {
		context, function, chord string
		key                      Key
		symbol                   string
	}{
		{"major key", "I", "maj7 / 6", c, "Cmaj7"},
		{"major key", "ii", "m7", c, "Dm7"},
		{"major key", "iii", "m7", c, "Em7"},
		{"major key", "IV", "maj7", c, "Fmaj7"},
		{"major key", "V", "7", c, "G7"},
		{"major key", "vi", "m7", c, "Am7"},
		{"major key", "vii", "m7b5", c, "Bm7b5"},
		{"major key", "V7/ii", "7", c, "A7"},
		{"major key", "V7/iii", "7", c, "B7"},
		{"major key", "V7/IV", "7", c, "C7"},
		{"major key", "V7/V", "7", c, "D7"},
		{"major key", "V7/vi", "7", c, "E7"},
		{"major key", "subV7/x (tritone substitute)", "7", c, "Db7"},
		{"major key", "bVII7 (backdoor)", "7", c, "Bb7"},
		{"major key", "iv (borrowed)", "m6 / m7 / m(maj7)", c, "Fm7"},
		{"major key", "bVImaj7, bIImaj7, bIIImaj7 (borrowed)", "maj7", c, "Abmaj7"},
		{"major key", "iim7b5 (borrowed)", "m7b5", c, "Dm7b5"},
		{"minor key", "i", "m6 / m(maj7)", am, "Am(maj7)"},
		{"minor key", "i", "m7", am, "Am7"},
		{"minor key", "ii", "m7b5", am, "Bm7b5"},
		{"minor key", "bIII", "maj7", am, "Cmaj7"},
		{"minor key", "iv", "m7", am, "Dm7"},
		{"minor key", "V", "7", am, "E7"},
		{"minor key", "bVI", "maj7", am, "Fmaj7"},
		{"minor key", "bVII", "7", am, "G7"},
		{"minor key", "vii", "dim7", am, "G#dim7"},
		{"any", "passing or common-tone diminished", "dim7", c, "C#dim7"},
		{"blues", "I7", "7", c, "C7"},
		{"blues", "IV7", "7", c, "F7"},
		{"any", "V7sus4", "7sus4", c, "G7sus4"},
		{"any", "aug maj7", "maj7#5", c, "Cmaj7(#5)"},
		{"any", "aug 7 (whole tone)", "7#5", c, "G7(#5)"},
		{"any", "alt", "7alt", c, "G7alt"},
	}
	// The table's words for scales that have several names.
	alias := map[string]string{
		"mixolydian b6":         "mixolydian b13",
		"whole-half diminished": "whole-half diminished",
		"altered":               "7th mode of melodic minor",
	}
	rows := readTSV(t, sharedtest.Path(t, "tables/tensions.tsv"))
	for i, tt := range tests {
		if i >= len(rows) || rows[i]["context"] != tt.context || rows[i]["function"] != tt.function || rows[i]["chord"] != tt.chord {
			t.Fatalf("row %d of the table is not %s %s", i+1, tt.context, tt.function)
		}
		s, err := ParseSymbol(tt.symbol)
		if err != nil {
			t.Fatal(err)
		}
		got, ok := tt.key.ChordScale(s.Chord)
		name := got.String()
		if a, ok := alias[name]; ok {
			name = a
		}
		if !ok || !strings.Contains(rows[i]["scale"], name) {
			t.Errorf("%s in %s: %s, the table has %q", tt.symbol, tt.key, name, rows[i]["scale"])
		}
	}
	if len(rows) != len(tests) {
		t.Errorf("%d rows, %d tested", len(rows), len(tests))
	}
}

// TestVocabulary reads every chord token that the Nottingham corpus uses (counts
// in data/chords/vocab_nottingham_original.tsv). Tokens marked there as no chord
// symbols must not be read as chords, but for single oddities.
func TestVocabulary(t *testing.T) {
	odd := map[string]string{"?D m": "Dm"} // a stray space
	for _, r := range readTSV(t, sharedtest.Path(t, "data/chords/vocab_nottingham_original.tsv")) {
		token := r["token (leading ? = not a chord symbol)"]
		word, not := strings.CutPrefix(token, "?")
		s, err := ParseSymbol(word)
		switch {
		case odd[token] != "":
			if err != nil || s.Chord.String() != odd[token] {
				t.Errorf("%q: %v, %v", word, s, err)
			}
		case not && err == nil:
			t.Errorf("%q is read as %s", word, s)
		case !not && err != nil:
			t.Error(err)
		}
	}
	for in, want := range map[string]string{
		"D/f+": "D/F#", "G/b": "G/B", "Gm/bb": "Gm/Bb", "A7/c+": "A7/C#", "G/dim": "Gdim", "D#/dim": "D#dim",
		"E7/b9": "E7(b9)", "E7/b": "E7/B", "(A7)": "(A7)", "A7)": "(A7)", "(D": "(D)", "C(7)": "C7",
		"(F+7)": "(F7(#5))", "C/c": "C", "Am/g+": "Am/G#", "D7/b9": "D7(b9)",
	} {
		if s, err := ParseSymbol(in); err != nil || s.String() != want {
			t.Errorf("%q is read as %v, want %s (%v)", in, s, want, err)
		}
	}
}
