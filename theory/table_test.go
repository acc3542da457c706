package theory

import (
	"bufio"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

// roots are the 21 names with at most one accidental.
func roots() []Name {
	var out []Name
	for l := C; l <= B; l++ {
		for a := int8(-1); a <= 1; a++ {
			out = append(out, Name{l, a})
		}
	}
	return out
}

// readTSV returns the rows of a tab-separated table, by column name.
func readTSV(t testing.TB, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var head []string
	var rows []map[string]string
	for in := bufio.NewScanner(f); in.Scan(); {
		f := strings.Split(in.Text(), "\t")
		if head == nil {
			head = f
			continue
		}
		row := map[string]string{}
		for i, h := range head {
			if i < len(f) {
				row[h] = f[i]
			}
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatal("no rows in " + filepath.Base(path))
	}
	return rows
}

func names(ns []Name) string {
	var s []string
	for _, n := range ns {
		s = append(s, n.String())
	}
	return strings.Join(s, " ")
}

// onC cuts the root off a symbol on C.
func onC(symbol string) string { return strings.TrimPrefix(symbol, "C") }

// notSymbols are entries of the column synonyms_of_suffix that describe the
// sign or its use instead of writing it, with what they stand for ("": nothing to
// read).
var notSymbols = map[string]string{
	"(nothing)":                   "",
	"-5 (C-5)":                    "-5",
	"6/9 with a horizontal bar":   "6/9",
	"triangle":                    "Δ",
	"triangle7":                   "Δ7",
	"triangle9":                   "Δ9",
	"triangle13":                  "Δ13",
	"triangle#11":                 "Δ#11",
	"-triangle":                   "-Δ",
	"half-dim sign":               "ø",
	"half-dim sign 7":             "ø7",
	"half-dim sign 9":             "ø9",
	"half-dim sign 11":            "ø11",
	"half-dim(b13)":               "ø(b13)",
	"often = 9sus4":               "11", // how it is played
	"11 (common)":                 "9sus4",
	"9sus with 10th":              "7sus4(add3)",
	"+7#9 (loosely)":              "7alt", // read strictly as 7(#5,#9)
	"13#11 without 9":             "7(#11,13)",
	"same as m(maj9)":             "m(maj9)",
	"NC; no chord; tacet harmony": "",
}

// TestChordTable reads every row of the chord table and every synonym on all 21
// roots. Source: the table of chord symbols in trade use (tables/chords.tsv).
//
// One synonym is decided otherwise: "13b5" keeps its ninth, as every 13 chord
// does and as two libraries have it (symbol_consensus.tsv); without it the
// symbol is 7(b5,13).
func TestChordTable(t *testing.T) {
	rows := 0
	for _, r := range readTSV(t, sharedtest.Path(t, "tables/chords.tsv")) {
		if r["family"] == "slash" || r["family"] == "polychord" || r["family"] == "none" {
			continue
		}
		rows++
		want, err := ParseDegrees(r["degrees"])
		if err != nil {
			t.Fatal(err)
		}
		words := []string{onC(r["symbol_on_C"])}
		for _, w := range strings.Split(r["synonyms_of_suffix"], ";") {
			w = strings.TrimSpace(w)
			if sign, ok := notSymbols[w]; ok {
				w = sign
			}
			if w == "" || w == "13b5" {
				continue
			}
			words = append(words, w)
		}
		for _, root := range roots() {
			for _, w := range words {
				s, err := ParseSymbol(root.String() + w)
				if err != nil {
					t.Errorf("%s, row %s", err, r["symbol_on_C"])
					continue
				}
				if c := (Chord{Root: root, Tones: want}); s.Chord != c {
					t.Errorf("%s%s is read as %s, want %s", root, w, s.Chord.Tones, want)
				}
				if again, err := ParseSymbol(s.Chord.String()); err != nil || again.Chord != s.Chord {
					t.Errorf("%s%s prints as %s, which reads as %v (%v)", root, w, s.Chord, again.Chord, err)
				}
			}
		}
	}
	if rows != 115 {
		t.Errorf("%d rows of chords, want 115", rows)
	}
}

// TestChordTableSpelling compares the table's strict and reading spelling on C,
// E flat and F sharp, slash chords and polychords included.
func TestChordTableSpelling(t *testing.T) {
	for _, r := range readTSV(t, sharedtest.Path(t, "tables/chords.tsv")) {
		if r["family"] == "none" {
			s, err := ParseSymbol(r["symbol_on_C"])
			if err != nil || !s.NoChord || !s.Chord.Silent() || s.Chord.Spell() != nil {
				t.Errorf("N.C.: %+v, %v", s, err)
			}
			continue
		}
		on := map[string]string{"C": r["symbol_on_C"]}
		for _, root := range []string{"Eb", "F#"} {
			on[root] = root + onC(r["symbol_on_C"])
		}
		switch r["family"] {
		case "slash": // "bass under chord; on Eb: Eb/G; on F#: F#/A#"
			for _, part := range strings.Split(r["synonyms_of_suffix"], ";") {
				if root, symbol, ok := strings.Cut(strings.TrimPrefix(strings.TrimSpace(part), "on "), ": "); ok {
					on[root] = symbol
				}
			}
		case "polychord": // "D over C7": both halves move
			s, err := ParseSymbol(r["symbol_on_C"])
			if err != nil {
				t.Error(err)
				continue
			}
			c := Name{}
			for root := range on {
				n, _ := ParseName(root)
				on[root] = s.Chord.Transpose(NameInterval(c, n)).String()
			}
		}
		for _, root := range []string{"C", "Eb", "F#"} {
			s, err := ParseSymbol(on[root])
			if err != nil {
				t.Error(err)
				continue
			}
			strict := strings.ReplaceAll(r["notes_"+root], " |", "")
			reading := strings.ReplaceAll(r["practical_"+root], " |", "")
			if reading == "=" {
				reading = strict
			}
			if got := names(s.Chord.Spell()); got != strict {
				t.Errorf("%s: spelled %s, want %s", on[root], got, strict)
			}
			if got := names(s.Chord.SpellReading()); got != reading {
				t.Errorf("%s: reading spelling %s, want %s", on[root], got, reading)
			}
			if again, err := ParseSymbol(s.Chord.String()); err != nil || again.Chord != s.Chord {
				t.Errorf("%s prints as %s, which reads as %v (%v)", on[root], s.Chord, again.Chord, err)
			}
		}
	}
}
