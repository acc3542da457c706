package leadsheet_test

import (
	"slices"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// TestMeterParts: how bars divide is common practice, as in any primer of notation;
// no source.
func TestMeterParts(t *testing.T) {
	for _, tt := range []struct {
		beats, unit     int
		pulse, division theory.Dur
		groups          []theory.Dur
	}{
		{4, 4, theory.Quarter, theory.Eighth, []theory.Dur{theory.Half}},
		{2, 2, theory.Quarter, theory.Eighth, []theory.Dur{theory.Half}},
		{3, 4, theory.Quarter, theory.Eighth, nil},
		{2, 4, theory.Quarter, theory.Eighth, nil},
		{3, 2, theory.Half, theory.Quarter, nil},
		{6, 8, 3 * theory.Eighth, theory.Eighth, nil},
		{12, 8, 3 * theory.Eighth, theory.Eighth, []theory.Dur{6 * theory.Eighth}},
		{6, 4, 3 * theory.Quarter, theory.Quarter, nil},
		{5, 4, theory.Quarter, theory.Eighth, []theory.Dur{3 * theory.Quarter}},
		{7, 4, theory.Quarter, theory.Eighth, []theory.Dur{theory.Whole}},
		{7, 8, theory.Eighth, theory.Sixteenth, []theory.Dur{theory.Quarter, theory.Half}},
		{8, 8, theory.Eighth, theory.Sixteenth, []theory.Dur{theory.Half}},
	} {
		m := leadsheet.Meter{Beats: tt.beats, Unit: tt.unit}
		if m.Pulse() != tt.pulse || m.Division() != tt.division || !slices.Equal(m.Groups(), tt.groups) {
			t.Errorf("%s: pulse %s, division %s, groups %v", m, m.Pulse(), m.Division(), m.Groups())
		}
		for _, at := range m.Groups() {
			if at <= 0 || at >= m.Bar() || at%m.Pulse() != 0 {
				t.Errorf("%s: a group begins at %s", m, at)
			}
		}
	}
	if m := (leadsheet.Meter{}).OrCommon(); m.String() != "4/4" {
		t.Errorf("no metre is read as %s", m)
	}
}

// TestBarOffset: a pick-up is the end of a full bar, other short bars its beginning.
func TestBarOffset(t *testing.T) {
	b := leadsheet.Bar{At: theory.Whole, Dur: theory.Quarter, Meter: fourFour}
	if got := b.Offset(b.At); got != 0 {
		t.Errorf("a short bar begins at %s", got)
	}
	b.Pickup = true
	if got := b.Offset(b.At + theory.Eighth); got != 7*theory.Eighth {
		t.Errorf("the second eighth of a pick-up of a quarter is at %s", got)
	}
}
