package edition

import (
	"slices"
	"testing"

	"gradatim/internal/arrange"
	"gradatim/internal/audit"
	"gradatim/internal/scoretest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// TestPlainer holds which hand has to give way after a violation: never the tune, an
// ornament first, then what the right hand has under the tune, also where its tune alone is at
// fault, else the left.
func TestPlainer(t *testing.T) {
	s := score.Score{Notes: []score.Note{
		{ID: "tune", Hand: score.Right, Origin: score.Origin{Kind: score.Melody}},
		{ID: "under", Hand: score.Right, Origin: score.Origin{Kind: score.Chord}},
		{ID: "turn", Hand: score.Right, Origin: score.Origin{Kind: score.Ornamental}},
		{ID: "fill", Hand: score.Right, Origin: score.Origin{Kind: score.Fill}},
		{ID: "run", Hand: score.Right, Origin: score.Origin{Kind: score.Run}},
		{ID: "bass", Hand: score.Left, Origin: score.Origin{Kind: score.Bass}},
		{ID: "chord", Hand: score.Left, Origin: score.Origin{Kind: score.Chord}},
	}}
	left, right, ornaments := arrange.Plainness{Left: 1}, arrange.Plainness{Right: 1}, arrange.Plainness{Ornaments: 1}
	for _, tt := range []struct {
		ids  []string
		try  int
		want arrange.Plainness
	}{
		{[]string{"bass"}, 0, left},
		{[]string{"bass", "chord"}, 0, left},
		{[]string{"tune", "bass"}, 0, left},
		{[]string{"tune"}, 0, right},
		{nil, 0, left},
		{[]string{"tune", "under"}, 0, right},
		{[]string{"bass", "under"}, 0, right},
		{[]string{"bass", "turn"}, 0, ornaments},
		{[]string{"under", "fill"}, 0, ornaments},
		{[]string{"run"}, repairs/2 - 1, ornaments},
		{[]string{"bass"}, repairs / 2, arrange.Plainness{Left: 1, Right: 1, Ornaments: 1}},
		{[]string{"tune"}, repairs / 2, arrange.Plainness{Left: 1, Right: 1, Ornaments: 1}},
	} {
		if got := plainer(arrange.Plainness{}, s, tt.ids, tt.try); got != tt.want {
			t.Errorf("%v at try %d: %+v, want %+v", tt.ids, tt.try, got, tt.want)
		}
	}
	for _, tt := range []struct { // a left hand falls silent for its own faults alone
		id   string
		left int
	}{{"tune", plainest}, {"bass", plainest + 1}} {
		if got := plainer(arrange.Plainness{Left: plainest}, s, []string{tt.id}, repairs/2); got.Left != tt.left {
			t.Errorf("%s: %+v", tt.id, got)
		}
	}
	if got := plainer(arrange.Plainness{Left: 2, Ornaments: 1}, s, []string{"under"}, 1); got != (arrange.Plainness{Left: 2, Right: 1, Ornaments: 1}) {
		t.Errorf("what was plainer before became %+v", got)
	}
}

// TestBare: of fingers that come too late those at fault go, in each hand and bar, and it is said;
// those in time stay.
func TestBare(t *testing.T) {
	s := scoretest.MustParse("tempo 120\nbars 2\n" +
		"R1 C5:1/8*f5 D5:1/8*f2 r:3/4 E5:1/4*f3 F5:1/4*f4 r:1/2\n" + // 2 a step above 5
		"L1 r:1/1 D3:1/8*f5 C3:1/8*f2 r:3/4")
	by := audit.Options{}
	found := audit.CheckFingers(s, by)
	if len(found) != 2 {
		t.Fatalf("%d fingers too late, want one in each hand: %v", len(found), found)
	}
	before := s.Notes
	var told leadsheet.Problems
	if left := bare(&s, found, by, "tune.abc", &told); len(left) > 0 {
		t.Errorf("left: %v", left)
	}
	var has []uint8
	for i, n := range s.Notes {
		has = append(has, n.Finger)
		if before[i].Finger == 0 && n.Finger > 0 || before[i].Pitch != n.Pitch {
			t.Errorf("%v: changed", n.ID)
		}
	}
	if want := []uint8{0, 0, 3, 4, 0, 0}; !sameFingers(has, want) {
		t.Errorf("fingers %v, want %v in some order", has, want)
	}
	if len(told) != 2 || told[0].Pos.Bar != 1 || told[1].Pos.Bar != 2 || told[0].Pos.File != "tune.abc" {
		t.Errorf("told %v, want bar 1 and bar 2", told)
	}
}

func sameFingers(a, b []uint8) bool {
	a, b = slices.Clone(a), slices.Clone(b)
	slices.Sort(a)
	slices.Sort(b)
	return slices.Equal(a, b)
}
