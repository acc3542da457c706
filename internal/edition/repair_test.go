package edition

import (
	"testing"

	"gradatim/internal/arrange"
	"gradatim/score"
)

// TestPlainer holds which hand has to give way after a violation: never the tune, an
// ornament first, then what the right hand has under the tune, else the left.
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
		{[]string{"tune"}, 0, left},
		{nil, 0, left},
		{[]string{"tune", "under"}, 0, right},
		{[]string{"bass", "under"}, 0, right},
		{[]string{"bass", "turn"}, 0, ornaments},
		{[]string{"under", "fill"}, 0, ornaments},
		{[]string{"run"}, repairs/2 - 1, ornaments},
		{[]string{"bass"}, repairs / 2, arrange.Plainness{Left: 1, Right: 1, Ornaments: 1}},
	} {
		if got := plainer(arrange.Plainness{}, s, tt.ids, tt.try); got != tt.want {
			t.Errorf("%v at try %d: %+v, want %+v", tt.ids, tt.try, got, tt.want)
		}
	}
	if got := plainer(arrange.Plainness{Left: 2, Ornaments: 1}, s, []string{"under"}, 1); got != (arrange.Plainness{Left: 2, Right: 1, Ornaments: 1}) {
		t.Errorf("what was plainer before became %+v", got)
	}
}
