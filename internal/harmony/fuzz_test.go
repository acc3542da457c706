package harmony

import (
	"fmt"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// check holds an analysis to what it promises for any song.
func check(t *testing.T, s leadsheet.Song, a Analysis) {
	t.Helper()
	if len(a.Roles) != len(s.Melody) {
		t.Fatalf("%d roles for %d notes", len(a.Roles), len(s.Melody))
	}
	if len(s.Bars) == 0 || s.End() <= s.Bars[0].At {
		return
	}
	at := s.Bars[0].At
	long := theory.Dur(0)
	for i, sp := range a.Spans {
		long += sp.Dur()
		if sp.At != at || sp.End <= sp.At {
			t.Fatalf("span %d: %s–%s after %s", i, sp.At, sp.End, at)
		}
		at = sp.End
		if sp.Sounding() == sp.Chord.Silent() || (sp.Mark < 0) != (sp.Mark == -1) || sp.Mark >= len(s.Chords) {
			t.Fatalf("span %d: %+v", i, sp)
		}
		if sp.Sounding() && sp.Key.Valid() && sp.Function == None {
			t.Fatalf("span %d has no function: %+v", i, sp)
		}
	}
	if at != s.End() || long != s.End()-s.Bars[0].At {
		t.Fatalf("spans end at %s after %s, song at %s", at, long, s.End())
	}
	bar, note := 0, 0
	for i, p := range a.Phrases {
		if p.First != bar || p.Last < p.First || p.From != note || p.To < p.From {
			t.Fatalf("phrase %d: %+v, want bar %d, note %d", i, p, bar, note)
		}
		if p.Goal >= 0 && (p.Goal < p.From || p.Goal >= p.To) {
			t.Fatalf("phrase %d: goal outside: %+v", i, p)
		}
		bar, note = p.Last+1, p.To
	}
	if bar != len(s.Bars) || note != len(s.Melody) {
		t.Fatalf("phrases end at bar %d of %d, note %d of %d", bar, len(s.Bars), note, len(s.Melody))
	}
	bar = 0
	for i, r := range a.Regions {
		if r.First != bar || r.Last < bar {
			t.Fatalf("region %d: %+v", i, r)
		}
		bar = r.Last + 1
	}
	if bar != len(s.Bars) {
		t.Fatalf("regions end at bar %d of %d", bar, len(s.Bars))
	}
	var before theory.Dur
	for i, g := range a.Gaps {
		if g.End <= g.At || i > 0 && g.At < before {
			t.Fatalf("gap %d: %+v", i, g)
		}
		before = g.End
		for _, n := range notesIn(s.Melody, g.At, g.End) {
			t.Fatalf("gap %d covers the note at %s", i, n.At)
		}
	}
}

var fuzzSeeds = []struct{ meter, key, text string }{
	{"4/4", "C", "[C] C4:1/4 D4:1/4 E4:1/4 F4:1/4 | [G7] G4:1"},
	{"6/8", "Am", "r:1/8 | [Am] A4:3/8 [E7] E4:3/8 | [NC] A4:3/4"},
	{"3/4", "", "C4:1/12 D4:1/12 E4:1/12 | [H?] F4:1/4 r:1/2 | [Bdim7] G4:3/4"},
	{"64/1", "Gmix", "C4:1/64"},
	{"4/4", "F", "C4:9 | D4:1/512 |"},
	{"1/64", "Db", "{A} K=Bm [C#7alt] C#4:7/3 | | {B} [D/F#] r:100"},
}

func FuzzAnalyse(f *testing.F) {
	for _, s := range fuzzSeeds {
		f.Add(s.meter, s.key, s.text)
	}
	for _, s := range tunes {
		f.Add(s.meter, s.key, s.text)
	}
	f.Fuzz(func(t *testing.T, meter, key, text string) {
		s, err := parseSong(meter, key, text)
		if err != nil || len(text) > 4000 {
			return
		}
		a := Analyse(s)
		check(t, s, a)
		if fmt.Sprint(a) != fmt.Sprint(Analyse(s)) {
			t.Fatal("two analyses of one song differ")
		}
		for i, sp := range a.Spans {
			var next Span
			if i+1 < len(a.Spans) {
				next = a.Spans[i+1]
			}
			var melody []theory.Name
			for _, n := range FitsSpan(s, sp).Notes {
				melody = append(melody, n.Name)
			}
			Tensions(sp, next, melody)
		}
	})
}
