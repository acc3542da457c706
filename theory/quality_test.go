package theory

import (
	"strings"
	"testing"
)

// TestQualityTable holds the table to its promises.
func TestQualityTable(t *testing.T) {
	book := qualityBook()
	if len(book.list) < 100 {
		t.Fatalf("%d rows", len(book.list))
	}
	for _, q := range book.list {
		if q.tones != q.tones.Normal() {
			t.Errorf("%q: degrees %s are not normal", q.suffix, q.tones)
		}
		if !q.tones.Has(Degree{1, 0}) {
			t.Errorf("%q has no root", q.suffix)
		}
		last := -1
		for _, d := range q.tones.List() { // ♯9 lies above ♭9, 4 above 3
			if d.Semitones() <= last {
				t.Errorf("%q: degrees do not ascend", q.suffix)
			}
			last = d.Semitones()
		}
		if strings.HasPrefix(q.suffix, "b") || strings.HasPrefix(q.suffix, "#") {
			t.Errorf("%q would join the root's letter", q.suffix)
		}
		if suffixOf(q.tones) != q.suffix {
			t.Errorf("%q is printed %q", q.suffix, suffixOf(q.tones))
		}
	}
	// Words that only the table can read; every other entry must be what the
	// grammar makes of it, so that the table cannot drift from it.
	words := map[string]bool{
		"power": true, "lyd": true, "lydian": true, "lyddom": true, "phrygian": true, "phrygiansus": true,
		"aeolian": true, "dorian": true, "wholetone": true, "wholetone9": true,
		"7(13)": true, // "7(13)" is a 13 chord, "m7(13)" none
	}
	for w, tones := range book.word {
		got, ok := readByGrammar(w)
		if words[w] {
			if ok && got == tones {
				t.Errorf("%q is no exception", w)
			}
			continue
		}
		if !ok || got != tones {
			t.Errorf("%q: grammar %s (%v), table %s", w, got, ok, tones)
		}
	}
}

func TestQualityTableErrors(t *testing.T) {
	for _, bad := range []string{"m\t1 b3 5", "m\t1 x 5\t", "m\t1 b3 5\t\nmi\t1 b3 5\t", "m\t1 b3 5\tmin\nx\t1 3 5\tmin"} {
		if _, err := parseQualities(bad); err == "" {
			t.Errorf("%q is accepted", bad)
		}
	}
}
