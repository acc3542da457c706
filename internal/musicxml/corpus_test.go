package musicxml

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/theory"
)

func codes(ps leadsheet.Problems) map[string]int {
	out := map[string]int{}
	for _, p := range ps {
		out[p.Code]++
	}
	return out
}

// Every compressed sheet of the shared corpus loads, and what its index says
// about it is found: bars, metre, signature, every chord kind as often as it
// stands there, and the known quirks as warnings. Source: OpenEWLD (public
// domain by its authors' statement), counted in index.tsv.
func TestSheets(t *testing.T) {
	dir := sharedtest.Path(t, "data/leadsheets")
	sheets, quirks := 0, map[string]int{}
	for _, row := range readTSV(t, filepath.Join(dir, "index.tsv")) {
		if row["format"] != "mxl" {
			continue
		}
		sheets++
		name := filepath.Base(row["file"])
		data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(row["file"])))
		if err != nil {
			t.Fatal(err)
		}
		s, err := ReadSong(data, Options{File: name})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		checkSong(t, s)
		doc, _ := newReader(Options{}).document(data)
		if got := strconv.Itoa(len(doc.parts[0].measures)); got != row["bars"] {
			t.Errorf("%s: %s written bars, index %s", name, got, row["bars"])
		}
		if got := kindCounts(doc.parts[0]); got != sortedWords(row["chord_vocab"]) {
			t.Errorf("%s: chords %s\nindex %s", name, got, sortedWords(row["chord_vocab"]))
		}
		if metre := strings.Split(row["meter"], "+")[0]; metre != "" && metre != s.Meter.String() {
			t.Errorf("%s: metre %s, index %s", name, s.Meter, metre)
		}
		if sign := row["key_signature"]; sign != "" {
			k, err := theory.ParseKey(sign)
			if err != nil || k.Fifths() != s.Key.Fifths() {
				t.Errorf("%s: key %s, index %s", name, s.Key, sign)
			}
		}
		found := codes(s.Problems)
		for _, q := range strings.Split(row["quality_notes"], ",") {
			code := map[string]string{"malformed_container_xml": "mxl-container", "no_time_signature": "time-missing", "no_key_signature": "key-missing"}[q]
			if code == "" {
				continue // a suspect key signature is for whoever estimates keys
			}
			quirks[q]++
			if found[code] == 0 {
				t.Errorf("%s: %s without a warning", name, q)
			}
		}
		features := strings.Split(row["features"], ",")
		if slices.Contains(features, "pickup") && !s.Bars[0].Pickup {
			t.Errorf("%s: the pick-up is lost", name)
		}
		// The index calls every first bar padded that begins with a rest; where a
		// chord sounds under the rest, or the rest is short and the bar has its
		// chords, the bar is a bar.
		if slices.Contains(features, "padded_pickup") {
			quirks["padded_pickup"]++
			whole := slices.Contains([]string{"jesu_joy_of_man_s_desiring", "maple_leaf_rag", "my_baby_just_cares_for_me",
				"sweet_hour_of_prayer", "i_know_that_you_know"}, strings.TrimSuffix(name, ".mxl"))
			if whole == s.Bars[0].Pickup || whole == (found["pickup-padded"] > 0) {
				t.Errorf("%s: pick-up %v, warned %d", name, s.Bars[0].Pickup, found["pickup-padded"])
			}
		}
	}
	if sheets != 72 || quirks["malformed_container_xml"] == 0 || quirks["no_time_signature"] == 0 || quirks["padded_pickup"] < 20 {
		t.Errorf("%d sheets, quirks %v", sheets, quirks)
	}
}

// kindCounts counts the chord kinds of a part as the index writes them.
func kindCounts(p *part) string {
	count := map[string]int{}
	for _, m := range p.measures {
		for _, it := range m.items {
			h, ok := it.(*harmony)
			if !ok {
				continue
			}
			for _, c := range h.Chords {
				s := c.Kind
				if s == "" {
					s = "(empty)"
				}
				for _, d := range c.Degrees {
					sign := ""
					if d.Alter > 0 {
						sign = "#"
					} else if d.Alter < 0 {
						sign = "b"
					}
					s += fmt.Sprintf("(%s%s%d)", d.Type[:3], sign, d.Value)
				}
				count[s]++
			}
		}
	}
	var words []string
	for k, n := range count {
		words = append(words, fmt.Sprintf("%s:%d", k, n))
	}
	slices.Sort(words)
	return strings.Join(words, " ")
}

func sortedWords(s string) string {
	w := strings.Fields(s)
	slices.Sort(w)
	return strings.Join(w, " ")
}

// The test suite's files are read as song and as score: an answer or a placed
// refusal, never a crash. What its descriptions promise is checked where a sheet
// or page can show it. Source: cuthbertLab/musicxmlTestSuite (MIT).
func TestSuite(t *testing.T) {
	dir := sharedtest.Path(t, "data/musicxml/testsuite/xmlFiles")
	files, err := filepath.Glob(filepath.Join(dir, "*.*"))
	if err != nil {
		t.Fatal(err)
	}
	songs, scores := 0, 0
	for _, f := range files {
		name := filepath.Base(f)
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if s, err := ReadSong(data, Options{File: name}); err == nil {
			songs++
			checkSong(t, s)
		} else {
			checkRefusal(t, name, err)
		}
		if s, ps, err := ReadScore(data, Options{File: name}); err == nil {
			scores++
			checkScore(t, s)
			checkProblems(t, ps)
		} else {
			checkRefusal(t, name, err)
		}
	}
	if len(files) < 150 || songs < 115 || scores < 12 {
		t.Errorf("%d files, %d songs, %d scores", len(files), songs, scores)
	}
	t.Logf("%d files: %d songs, %d piano scores, the others refused", len(files), songs, scores)
}

func checkRefusal(t *testing.T, name string, err error) {
	t.Helper()
	ps, ok := err.(leadsheet.Problems)
	if !ok || ps.Err() == nil {
		t.Errorf("%s: refused with %v", name, err)
		return
	}
	checkProblems(t, ps)
}

func suiteSong(t *testing.T, name string) leadsheet.Song {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Path(t, "data/musicxml/testsuite/xmlFiles"), name))
	if err != nil {
		t.Fatal(err)
	}
	s, err := ReadSong(data, Options{File: name})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// What single files of the suite are there to show, by their own descriptions.
func TestSuiteMeanings(t *testing.T) {
	t.Run("45b: alternative endings", func(t *testing.T) {
		var got []int
		for _, b := range suiteSong(t, "45b-RepeatWithAlternatives.xml").Bars {
			got = append(got, b.Written)
		}
		if want := []int{0, 1, 0, 2, 3}; !slices.Equal(got, want) {
			t.Errorf("%v, want %v", got, want)
		}
	})
	t.Run("46d: a 3/8 pick-up, a bar split into 2/4 and an implicit rest", func(t *testing.T) {
		s := suiteSong(t, "46d-PickupMeasure-ImplicitMeasures.xml")
		if !s.Bars[0].Pickup || s.Bars[0].Dur != 3*theory.Eighth || s.Bars[1].Dur != theory.Whole {
			t.Errorf("%+v", s.Bars)
		}
	})
	t.Run("71g: the harmony changes during a note", func(t *testing.T) {
		var got []string
		for _, c := range suiteSong(t, "71g-MultipleChordnames.xml").Chords {
			got = append(got, fmt.Sprintf("%s@%s", c.Chord, c.At))
		}
		if s := strings.Join(got, " "); s != "C@0 F#m6@1/4 Dm7@1/2 G7@3/4" {
			t.Error(s)
		}
	})
	t.Run("72a: a B flat trumpet sounds a tone lower", func(t *testing.T) {
		s := suiteSong(t, "72a-TransposingInstruments.xml")
		var got []string
		for _, n := range s.Melody {
			got = append(got, n.Pitch.String())
		}
		if g := strings.Join(got, " "); s.Key.String() != "C major" || g != "C4 D4 E4 F4 G4 A4 B4 C5" {
			t.Error(s.Key, g)
		}
	})
	t.Run("13b: the church modes", func(t *testing.T) {
		var got []string
		for _, b := range suiteSong(t, "13b-KeySignatures-ChurchModes.xml").Bars {
			got = append(got, b.Key.String())
		}
		if g := strings.Join(got, ", "); g != "D major, B minor, D major, E dorian, F# phrygian, G lydian, A mixolydian, B aeolian, C# locrian" {
			t.Error(g)
		}
	})
	t.Run("23a: triplets and other tuplets are exact", func(t *testing.T) {
		s := suiteSong(t, "23a-Tuplets.xml")
		if n := codes(s.Problems)["duration-rounded"]; n > 0 {
			t.Errorf("%d rounded", n)
		}
		if s.Melody[0].Dur != theory.Quarter*2/3 {
			t.Errorf("first note %s", s.Melody[0].Dur)
		}
	})
	t.Run("33b: a tie over the bar line", func(t *testing.T) {
		s := suiteSong(t, "33b-Spanners-Tie.xml")
		if len(s.Melody) != 1 || s.Melody[0].Dur != 2*theory.Whole {
			t.Errorf("%+v", s.Melody)
		}
	})
	t.Run("71f: the degrees of the last chords", func(t *testing.T) {
		s := suiteSong(t, "71f-AllChordTypes.xml")
		var last []string
		for _, c := range s.Chords[len(s.Chords)-2:] {
			last = append(last, c.Chord.Tones.String())
		}
		if g := strings.Join(last, ", "); g != "1 b5, 3 5 b6" { // lyrics: C-3+5b, C-1+6b
			t.Error(g)
		}
	})
}

// The accompaniments load as piano parts; the voice is left out and named.
// Source: OpenScore Lieder (CC0 1.0).
func TestAccompaniments(t *testing.T) {
	dir := sharedtest.Path(t, "data/accompaniment_cc0")
	rows := readTSV(t, filepath.Join(dir, "index.tsv"))
	for _, row := range rows {
		data, err := os.ReadFile(filepath.Join(dir, row["file"]))
		if err != nil {
			t.Fatal(err)
		}
		s, ps, err := ReadScore(data, Options{File: row["file"]})
		if err != nil {
			t.Errorf("%s: %v", row["file"], err)
			continue
		}
		checkScore(t, s)
		checkProblems(t, ps)
		if codes(ps)["parts-left-out"] != 1 {
			t.Errorf("%s: the voice is not told of", row["file"])
		}
		if got := strconv.Itoa(len(s.Bars)); got != row["measures"] {
			t.Errorf("%s: %s bars, index %s", row["file"], got, row["measures"])
		}
		if s.Bars[0].Meter.String() != row["meter"] {
			t.Errorf("%s: metre %s, index %s", row["file"], s.Bars[0].Meter, row["meter"])
		}
		if f := strings.Split(row["key_fifths"], ",")[0]; strconv.Itoa(s.Bars[0].Key.Fifths()) != f {
			t.Errorf("%s: key %s, index %s", row["file"], s.Bars[0].Key, f)
		}
		hands := map[string]int{}
		for _, n := range s.Notes {
			hands[n.Hand.String()]++
		}
		if hands["right"] == 0 || hands["left"] == 0 {
			t.Errorf("%s: %v", row["file"], hands)
		}
	}
	if len(rows) != 21 {
		t.Errorf("%d files", len(rows))
	}
}
