package harmony

import (
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest/corpus"
	"gradatim/theory"
)

// The key found from melody and chords alone against the sheet's own key, for
// every stretch of eight bars or more under one signature of the ABC sheets (whose
// K: field a person wrote), and against the index's reading for all sheets that
// have one. Relative and parallel keys count as misses.
func TestCorpusKeys(t *testing.T) {
	var declared, indexed, right, rightIndexed int
	for _, s := range corpus.Sheets(t) {
		a := Analyse(s.Song)
		if filepath.Ext(s.Name) == ".abc" {
			for _, r := range a.Regions {
				if r.Last-r.First+1 < 8 {
					continue
				}
				declared++
				if agrees(r.Estimate, r.Declared) {
					right++
				} else {
					t.Logf("%s from bar %d: declared %s, estimated %s, read in %s", s.Name, s.Song.Bars[r.First].Number, r.Declared, r.Estimate, r.Key)
				}
			}
		}
		first, _, _ := strings.Cut(s.Key, "+")
		sure := !strings.HasSuffix(first, "?")
		want, err := theory.ParseKey(strings.TrimSuffix(first, "?"))
		if err != nil {
			continue
		}
		if sure {
			indexed++
		}
		switch {
		case !agrees(a.Estimate, want):
			t.Logf("%s: index %s, declared %s, estimated %s, read in %s", s.Name, s.Key, s.Song.Key, a.Estimate, a.Key)
		case sure:
			rightIndexed++
		}
	}
	t.Logf("%d of %d stretches as declared, %d of %d sheets as the index has them", right, declared, rightIndexed, indexed)
	if right*100 < 93*declared {
		t.Errorf("only %d of %d stretches as declared", right, declared)
	}
	if rightIndexed*100 < 93*indexed {
		t.Errorf("only %d of %d sheets as the index has them", rightIndexed, indexed)
	}
}

// On real sheets the reading leaves little unnamed. The bounds are what is
// reached, rounded to the safe side, so that a change for the worse is noticed.
func TestCorpusReading(t *testing.T) {
	kinds, functions, cadences := map[RoleKind]int{}, map[Function]int{}, map[Cadence]int{}
	verdicts := map[Verdict]theory.Dur{}
	var notes, chords, phrases, regular int
	var sounding theory.Dur
	for _, s := range corpus.Sheets(t) {
		a := Analyse(s.Song)
		check(t, s.Song, a)
		for _, r := range a.Roles {
			kinds[r.Kind]++
			notes++
		}
		for _, sp := range a.Spans {
			if !sp.Sounding() {
				continue
			}
			chords++
			functions[sp.Function]++
			sounding += sp.Dur()
			verdicts[FitsSpan(s.Song, sp).Verdict] += sp.Dur()
			if sp.Function == Chromatic {
				t.Logf("%s at %s: %s in %s is chromatic", s.Name, where(s.Song, sp.At), sp.Chord, sp.Key)
			}
		}
		for _, p := range a.Phrases {
			phrases++
			cadences[p.Cadence]++
			if n := p.Last - p.First + 1; n == 4 || n == 5 || n == 8 || n == 9 { // with its pick-up bar
				regular++
			}
		}
	}
	t.Logf("%d notes: %v", notes, kinds)
	t.Logf("%d chords: %v", chords, functions)
	t.Logf("%d phrases, %d of four or eight bars: %v", phrases, regular, cadences)
	t.Logf("melody over the printed chord, percent of the time: fits %d, caution %d, refuse %d", 100*verdicts[Fitting]/sounding, 100*verdicts[Caution]/sounding, 100*verdicts[Refused]/sounding)
	if kinds[Free]*100 > 2*notes {
		t.Errorf("%d of %d notes have no role", kinds[Free], notes)
	}
	if functions[Chromatic]*100 > 2*chords {
		t.Errorf("%d of %d chords have no function", functions[Chromatic], chords)
	}
	if cadences[NoCadence]*100 > 40*phrases {
		t.Errorf("%d of %d phrases without a close", cadences[NoCadence], phrases)
	}
	if verdicts[Refused]*100 > 5*sounding {
		t.Errorf("the printed chords are refused for %d %% of the time", 100*verdicts[Refused]/sounding)
	}
}
