package score_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/score"
	"gradatim/theory"
)

const fourBars = `
title Four Bars
meter 3/4
bars 4
tempo 90
chord 0 C
chord 3/2 F
sign 0 R dynamic mf
sign 3/4 L dynamic p
sign 1/2 L pedal down
sign 7/8 L pedal up
sign 2 L pedal down
sign 1/2 R cresc
sign 5/4 R hairpin end
sign 2 L dim
sign 0 R treble
sign 3/4 R bass
sign 5/4 R 8va
sign 2 R 8va end
R1 C5:1/2*slur D5:1/2*slurend E5:5/4 F5:1/4*slur G5:1/4 A5:1/4*slurend
L1 C3:3/4 G2:3/2 C3:3/4
`

// The second and third bar: a note held into them begins with them, one held out
// of them ends there; half a slur reaches to the edge.
func TestExcerpt(t *testing.T) {
	ex := scoretest.MustParse(fourBars).Excerpt(1, 2)
	if ex.Title != "Four Bars" || ex.Tempo.PerMinute != 90 || len(ex.Bars) != 2 || ex.Bars[0].Number != 2 || ex.Bars[0].At != 0 || ex.End() != 6*theory.Quarter {
		t.Errorf("%q at %d: bars %+v", ex.Title, ex.Tempo.PerMinute, ex.Bars)
	}
	var notes []string
	for _, n := range ex.Notes {
		slur := ""
		if n.Marks.Has(score.SlurFrom) {
			slur += "("
		}
		if n.Marks.Has(score.SlurTo) {
			slur += ")"
		}
		notes = append(notes, fmt.Sprintf("%s@%s:%s%s", n.Pitch, n.At, n.Dur, slur))
	}
	if got, want := strings.Join(notes, " "), "D5@0:1/4 G2@0:3/2 E5@1/4:5/4"; got != want {
		t.Errorf("notes %s, want %s", got, want)
	}
	var signs []string
	for _, d := range ex.Directions {
		signs = append(signs, fmt.Sprintf("%s %s %d %s", d.At, d.Hand, d.Kind, d.Text))
	}
	want := []string{
		fmt.Sprintf("0 left %d ", score.PedalDown), // pressed before
		fmt.Sprintf("0 left %d p", score.Dynamic),
		fmt.Sprintf("0 right %d ", score.ClefBass),
		fmt.Sprintf("0 right %d ", score.Crescendo), // under way
		fmt.Sprintf("1/2 right %d ", score.HairpinEnd),
		fmt.Sprintf("5/4 left %d ", score.Diminuendo),
		fmt.Sprintf("3/2 left %d ", score.HairpinEnd), // goes on
		fmt.Sprintf("1/8 left %d ", score.PedalUp),
		fmt.Sprintf("1/2 right %d ", score.OctaveUp),
		fmt.Sprintf("5/4 left %d ", score.PedalDown),
		fmt.Sprintf("5/4 right %d ", score.OctaveEnd),
		fmt.Sprintf("3/2 left %d ", score.PedalUp), // held beyond
	}
	if len(signs) != len(want) {
		t.Errorf("signs %q, want %q", signs, want)
	}
	for _, w := range want {
		if !strings.Contains(strings.Join(signs, "|")+"|", w+"|") {
			t.Errorf("no sign %q in %q", w, signs)
		}
	}
	if len(ex.Chords) != 2 || ex.Chords[0].At != 0 || ex.Chords[0].Chord.String() != "C" || ex.Chords[1].At != 3*theory.Quarter {
		t.Errorf("chords %+v", ex.Chords)
	}
	last := scoretest.MustParse(fourBars).Excerpt(3, 3)
	if n := last.Notes[0]; !n.Marks.Has(score.SlurFrom) || !last.Notes[len(last.Notes)-1].Marks.Has(score.SlurTo) {
		t.Errorf("a whole slur is lost: %+v", last.Notes)
	}
	first := scoretest.MustParse(fourBars).Excerpt(0, 0)
	if a, b := first.Notes[0], first.Notes[2]; !a.Marks.Has(score.SlurFrom) || !b.Marks.Has(score.SlurTo) {
		t.Errorf("a slur that is cut does not end inside: %+v", first.Notes)
	}
}

// The whole of a score is the score; what two neighbours have is what both have
// together, but for what is cut between them.
func TestExcerptOfAll(t *testing.T) {
	for seed := range uint64(100) {
		s := scoretest.Random(rand.New(rand.NewPCG(seed, 9)))
		n := len(s.Bars)
		all := s.Excerpt(0, n-1)
		if a, b := score.Text(s), score.Text(all); a != b {
			t.Fatalf("seed %d: the whole is\n%s\nwas\n%s", seed, b, a)
		}
		strikes := 0
		for i := range s.Bars {
			ex := s.Excerpt(i, i)
			for _, note := range ex.Notes {
				if note.At < 0 || note.End() > ex.End() || note.Dur <= 0 && note.Grace == 0 {
					t.Fatalf("seed %d, bar %d: %+v lies outside", seed, i, note)
				}
			}
			for _, note := range s.Notes {
				if note.At < s.Bars[i].End() && (note.At >= s.Bars[i].At || note.End() > s.Bars[i].At) {
					strikes--
				}
			}
			strikes += len(ex.Notes)
		}
		if strikes != 0 {
			t.Errorf("seed %d: %d notes too many", seed, strikes)
		}
	}
}

func TestRange(t *testing.T) {
	s := scoretest.MustParse("meter 2/4\npickup 1/4\nbars 3\nR1 C5:7/4")
	for _, tt := range []struct {
		from, to, first, last int
		ok                    bool
	}{
		{0, 0, 0, 3, true}, {1, 0, 1, 3, true}, {2, 3, 2, 3, true}, {3, 3, 3, 3, true}, {0, 1, 0, 1, true},
		{4, 4, 0, 0, false}, {2, 9, 0, 0, false}, {3, 2, 0, 0, false}, {-1, 2, 0, 0, false},
	} {
		first, last, ok := s.Range(tt.from, tt.to)
		if ok != tt.ok || ok && (first != tt.first || last != tt.last) {
			t.Errorf("%d to %d: %d to %d, %v", tt.from, tt.to, first, last, ok)
		}
	}
	if _, _, ok := (score.Score{}).Range(0, 0); ok {
		t.Error("bars in a score without")
	}
}
