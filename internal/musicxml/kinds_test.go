package musicxml

import (
	"bufio"
	"encoding/xml"
	"math/rand"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

// Kinds and degree-type (add, alter, subtract) as MusicXML 4.0 documents kind-value and
// degree-type; what is made of degrees that do not fit is ours.
func TestKindTones(t *testing.T) {
	for _, tt := range []struct {
		kind, changes, want string
		cautions            int
	}{
		{"major", "", "1 3 5", 0},
		{"suspended-fourth", "add:7:0", "1 4 5 b7", 0},
		{"suspended-fourth", "add:7:1 add:9:0", "1 4 5 7 9", 0},
		{"dominant", "add:9:-1", "1 3 5 b7 b9", 0},
		{"dominant", "alter:9:-1", "1 3 5 b7 b9", 1},
		{"dominant", "alter:5:-1", "1 3 b5 b7", 0},
		{"dominant-13th", "", "1 3 5 b7 9 13", 0},
		{"dominant-13th", "subtract:11:0", "1 3 5 b7 9 13", 0},
		{"dominant-13th", "add:11:0", "1 3 5 b7 9 11 13", 0},
		{"dominant-13th", "alter:11:1", "1 3 5 b7 9 #11 13", 0},
		{"dominant-13th", "alter:9:-1", "1 3 5 b7 b9 13", 0},
		{"minor-13th", "", "1 b3 5 b7 9 11 13", 0},
		{"half-diminished", "alter:5:-1", "1 b3 b5 b7", 1},
		{"augmented-ninth", "", "1 3 #5 b7 9", 1},
		{"minor-major", "", "1 b3 5 7", 1},
		{"dominant", "subtract:5:0 add:9:-1 add:9:1 add:11:1 add:13:-1", "1 3 b7 b9 #9 #11 b13", 0},
		{"other", "add:3:-1 add:7:0", "1 b3 b7", 0},
		{"major", "add:10:-1", "1 b3 3 5", 0},
		{"major", "add:99:0 frob:5:0", "1 3 5", 2},
	} {
		got, known, cautions := kindTones(tt.kind, parseChanges(t, tt.changes))
		if !known || got.String() != tt.want || len(cautions) != tt.cautions {
			t.Errorf("%s %s = %s, %v, %q; want %s and %d cautions", tt.kind, tt.changes, got, known, cautions, tt.want, tt.cautions)
		}
	}
	for _, kind := range []string{"other", "Neapolitan", "Italian", "French", "German", "Tristan", "none", "", "frob"} {
		if _, known, _ := kindTones(kind, nil); known {
			t.Errorf("%q has notes", kind)
		}
	}
}

func parseChanges(t *testing.T, s string) (out []markup.Degree) {
	t.Helper()
	for _, f := range strings.Fields(s) {
		p := strings.Split(f, ":")
		v, err1 := strconv.Atoi(p[1])
		a, err2 := strconv.Atoi(p[2])
		if err1 != nil || err2 != nil {
			t.Fatalf("bad change %q", f)
		}
		out = append(out, markup.Degree{Value: v, Alter: a, Type: p[0]})
	}
	return out
}

// The two directions are inverse for every set of degrees, chord or not.
func TestKindOfInverse(t *testing.T) {
	rnd := rand.New(rand.NewSource(1))
	numbers := []int8{1, 2, 3, 4, 5, 6, 7, 9, 11, 13}
	for range 20000 / sharedtest.Every(10, 5) {
		var s theory.Degrees
		if rnd.Intn(8) > 0 {
			s = s.With(theory.Degree{Number: 1})
		}
		for range 1 + rnd.Intn(6) {
			s = s.With(theory.Degree{Number: numbers[rnd.Intn(len(numbers))], Alter: int8(rnd.Intn(5) - 2)})
		}
		kind, changes := kindOf(s)
		got, known, _ := kindTones(kind, changes)
		if !known || got != s {
			t.Fatalf("%s: written as %s %v, read as %s", s, kind, changes, got)
		}
	}
}

// Source: MusicXML 4.0 XSD, documentation of kind-value (W3C Community Final
// Specification Agreement), as semitones in data/chords/musicxml_kinds.tsv.
func TestKindsAgainstStandard(t *testing.T) {
	rows := readTSV(t, sharedtest.Path(t, "data/chords/musicxml_kinds.tsv"))
	seen := 0
	for _, r := range rows {
		if r["semitones"] == "" {
			if _, known, _ := kindTones(r["kind"], nil); known {
				t.Errorf("%s has notes here and none in the standard", r["kind"])
			}
			continue
		}
		i := slices.IndexFunc(kindRows, func(k kindRow) bool { return k.kind == r["kind"] })
		if i < 0 {
			t.Errorf("%s is missing", r["kind"])
			continue
		}
		seen++
		var got []string
		for _, d := range kindRows[i].tones.List() {
			got = append(got, strconv.Itoa(d.Semitones()))
		}
		if s := strings.Join(got, ","); s != r["semitones"] {
			t.Errorf("%s = %s; the standard has %s", r["kind"], s, r["semitones"])
		}
	}
	if seen != 26 {
		t.Errorf("%d kinds with notes; the standard has 26", seen)
	}
}

// Every row of the chord table gives its kind and degrees; both directions.
func TestKindsAgainstChordTable(t *testing.T) {
	rows := readTSV(t, sharedtest.Path(t, "tables/chords.tsv"))
	tested := 0
	for _, r := range rows {
		want, err := theory.ParseDegrees(r["degrees"])
		if err != nil { // slash chords and polychords have their own notation
			continue
		}
		if r["musicxml_kind"] == "none" {
			continue
		}
		if r["symbol_on_C"] == "Cadd9(no3)" { // the table writes the 9th as a 2nd; we keep it a 9th
			continue
		}
		tested++
		var changes []markup.Degree
		if c := r["musicxml_degrees(type:value:alter)"]; c != "bass" {
			changes = parseChanges(t, c)
		}
		got, known, cautions := kindTones(r["musicxml_kind"], changes)
		if !known || got != want || len(cautions) > 0 {
			t.Errorf("%s: %s %s = %s, want %s %q", r["symbol_on_C"], r["musicxml_kind"], r["musicxml_degrees(type:value:alter)"], got, want, cautions)
		}
		kind, back := kindOf(want)
		if got, _, _ := kindTones(kind, back); got != want {
			t.Errorf("%s: written as %s %v, which is %s", r["symbol_on_C"], kind, back, got)
		}
		if len(back) > len(changes) {
			t.Logf("%s: %s %v is longer than the table's %s %v", r["symbol_on_C"], kind, back, r["musicxml_kind"], changes)
		}
	}
	if tested < 100 {
		t.Errorf("only %d rows", tested)
	}
}

// Every kind of the W3C test suite's list of all chord types is either in the
// table or one of the kinds without fixed notes.
func TestKindsAgainstAllChordTypes(t *testing.T) {
	f, err := os.Open(filepath.Join(sharedtest.Path(t, "data/chords"), "71f-AllChordTypes.xml"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	dec, n := xml.NewDecoder(f), 0
	for {
		tok, err := dec.Token()
		if err != nil {
			break
		}
		e, ok := tok.(xml.StartElement)
		if !ok || e.Name.Local != "kind" {
			continue
		}
		var kind string
		if err := dec.DecodeElement(&kind, &e); err != nil {
			t.Fatal(err)
		}
		n++
		_, known, _ := kindTones(kind, nil)
		free := slices.Contains([]string{"Neapolitan", "Italian", "French", "German", "Tristan", "other"}, kind)
		if known == free {
			t.Errorf("%s: known %v", kind, known)
		}
	}
	if n < 32 {
		t.Errorf("only %d kinds", n)
	}
}

func readTSV(t testing.TB, path string) (rows []map[string]string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var head []string
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		cells := strings.Split(sc.Text(), "\t")
		if head == nil {
			head = cells
			continue
		}
		row := map[string]string{}
		for i, h := range head {
			if i < len(cells) {
				row[h] = cells[i]
			}
		}
		rows = append(rows, row)
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	return rows
}
