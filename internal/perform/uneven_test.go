package perform_test

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"gradatim/internal/perform"
)

func TestUnevennessIsSmallSeededAndOptional(t *testing.T) {
	even := play(t, tune, perform.Options{Even: true})
	a, b := play(t, tune, perform.Options{Seed: 1}), play(t, tune, perform.Options{Seed: 2})
	if reflect.DeepEqual(a.Notes, b.Notes) {
		t.Error("the seed changes nothing")
	}
	if !reflect.DeepEqual(a, play(t, tune, perform.Options{Seed: 1})) {
		t.Error("the same seed plays differently")
	}
	find := func(p perform.Performance, id string) perform.Note {
		return p.Notes[slices.IndexFunc(p.Notes, func(n perform.Note) bool { return n.ID == id })]
	}
	var off, square float64
	for _, n := range even.Notes {
		m := find(a, n.ID)
		if d := math.Abs(m.Start - n.Start); d > 0.02 {
			t.Errorf("%s leaves its time by %.0f ms", n.ID, d*1000)
		}
		off += m.Start - n.Start
		square += (m.Start - n.Start) * (m.Start - n.Start)
		if d := m.Velocity - n.Velocity; d < -5 || d > 5 {
			t.Errorf("%s is %d harder", n.ID, d)
		}
	}
	mean := off / float64(len(even.Notes))
	if sd := math.Sqrt(square/float64(len(even.Notes)) - mean*mean); sd < 0.001 || sd > 0.008 {
		t.Errorf("standard deviation %.1f ms", sd*1000)
	}
}
