package leadsheet_test

import (
	"testing"

	"gradatim/leadsheet"
)

func TestPasses(t *testing.T) {
	for _, tt := range []struct {
		list        []int
		text        string
		first, last int
	}{
		{nil, "", 0, 0},
		{[]int{1}, "1", 1, 1},
		{[]int{3, 1, 2}, "1, 2, 3", 1, 3},
		{[]int{32, 0, 33, -1}, "32", 32, 32},
	} {
		p := leadsheet.PassesOf(tt.list...)
		if p.String() != tt.text || p.First() != tt.first || p.Last() != tt.last || p.Has(tt.first) != (p != 0) || p.Has(0) || p.Has(33) {
			t.Errorf("%v: %q, %d to %d", tt.list, p, p.First(), p.Last())
		}
	}
}
