package hand

import (
	"math"
	"strconv"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func TestDemands(t *testing.T) {
	s := page(t, "C4+E4+G4:1 C4+C5:1 D4+D5:1 E4+E5:1 G4:0.125 G4:0.125 G4:0.25 G4:3.5", "C3+D4:4 ~C3+E4:4")
	s.Tempo = leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 90}
	got := map[Demand]int{}
	for _, pl := range Demands(s, Default()) {
		got[pl.Demand]++
		if len(pl.Keys) == 0 || pl.Demand.String() == "" {
			t.Errorf("%+v", pl)
		}
	}
	// The ninth is a stretch for a hand of a ninth; octaves are none.
	for d, want := range map[Demand]int{Stretch: 1, Roll: 1, Octaves: 2, Repeating: 2} {
		if got[d] != want {
			t.Errorf("%s: %d places, want %d", d, got[d], want)
		}
	}
	if ds := Demands(page(t, "C4+E4+G4:4", "C3+G3:4"), Default()); len(ds) != 0 {
		t.Errorf("a triad demands %v", ds)
	}
	// What a large hand does with ease a small one is warned of.
	small, _ := ParseProfile("octave")
	if ds := Demands(page(t, "C4+C5:4", "C3:4"), small); len(ds) != 1 || ds[0].Demand != Stretch {
		t.Errorf("an octave for a hand of an octave: %v", ds)
	}
}

func TestPairReach(t *testing.T) {
	p := Default()
	for f := 1; f <= 4; f++ {
		for g := f + 1; g <= 5; g++ {
			if r := p.pairReach(score.Left, f, g); r <= 0 || r > p.Reach(score.Left)+2*WhiteKey {
				t.Errorf("%d-%d reach %s", f, g, r)
			}
		}
	}
	if p.pairReach(score.Left, 1, 5) != p.Reach(score.Left) {
		t.Error("thumb and little finger")
	}
}

// How many players each named hand leaves out.
//
// Source: Boyle, Boyle and Booker 2015 (473 adult pianists: mean spans of women
// 7.9 in, of men one inch more; 13 % of women and 76 % of men reach 8.5 in); the
// spread is derived from these shares; table hand_span_thresholds.tsv.
func TestSharesOfPlayers(t *testing.T) {
	atLeast := func(span, mean, spread float64) float64 {
		return 50 * math.Erfc((span-mean)/spread/math.Sqrt2)
	}
	rows := rows(t, "tables/hand_span_thresholds.tsv")
	if len(rows) == 0 {
		t.Fatal("no thresholds")
	}
	for _, r := range rows {
		span, err := strconv.ParseFloat(r[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		men, _ := strconv.ParseFloat(r[3], 64)
		women, _ := strconv.ParseFloat(r[4], 64)
		if m, w := atLeast(span, 8.9, .57), atLeast(span, 7.9, .53); math.Abs(m-men) > 1.5 || math.Abs(w-women) > 1.5 {
			t.Errorf("%s: %.0f %% of men and %.0f %% of women, the table says %.0f and %.0f", r[0], m, w, men, women)
		}
	}
	// The named hands stand at the table's thresholds.
	inches := func(l Length) float64 { return float64(l) / float64(Inch) }
	for _, tt := range []struct {
		span Length
		want float64
	}{{OctaveSpan, 6.65}, {NinthSpan, 7.55}, {TenthSpan, 8.5}} {
		if got := inches(tt.span); math.Abs(got-tt.want) > .02 {
			t.Errorf("%s is %.2f in, the table says %.2f", tt.span, got, tt.want)
		}
	}
}
