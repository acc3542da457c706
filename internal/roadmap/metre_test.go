package roadmap_test

import (
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/leadsheet"
)

// TestGroups reads tunes of uneven metres. Pajdushko is counted 2+3, rachenitsa 2+2+3,
// kopanitsa 2+2+3+2+2, zortziko 3+2 (dances of the Balkans and of the Basque country;
// how they are counted is from memory); the tunes are our own.
func TestGroups(t *testing.T) {
	for _, tt := range []struct{ name, metre, music, want string }{
		{"pajdushko", "5/8", "AB c2e|dc B2A|AB c2e|dc A3|", "2+3"},
		{"zortziko", "5/8", "e2c A2|d2B G2|c2e d2|c3 A2|", "3+2"},
		{"rachenitsa", "7/8", "A2 B2 c2d|e2 d2 c2B|AB cd e3|d2 B2 A3|", "2+2+3"},
		{"lesnoto", "7/8", "c3 A2 B2|c2d e2 d2|c2B A2 G2|A3 A4|", "3+2+2"},
		{"kopanitsa", "11/8", "A2 B2 cde f2 e2|d2 c2 B3 A2 B2|c2 B2 ABc d2 c2|A2 A2 A3 A2 E2|", "2+2+3+2+2"},
		{"rumba", "8/8", "A3 c3 e2|d3 B3 G2|A3 c3 e2|d3 c3 A2|", "3+3+2"},
		{"four", "8/8", "A2 B2 c2 d2|e4 d4|c2 B2 A2 B2|A8|", ""},
		{"five quarters", "5/4", `"Am"A2 B2 c2 "E"B4|"Am"A4 c2 "E"B4|"F"A6 "G"B4|"Am"A6 A4|`, "3+2"},
		{"five quarters, short first", "5/4", `"Am"A4 "E"B2 c2 d2|"Am"A4 "E"B6|"F"A4 "G"B6|"Am"A4 A6|`, "2+3"},
		{"given", "(2+3)/8", "e2c A2|d2B G2|c2e d2|c3 A2|", "2+3"},
		{"given against a compound metre", "2+2+2+3/8", "A2 B2 c2 dcB|A2 B2 c2 d3|", "2+2+2+3"},
		{"a jig stays one", "9/8", "ABc def gfe|d3 c3 B3|", ""},
	} {
		s, err := abc.Read([]byte("X:1\nM:"+tt.metre+"\nL:1/8\nK:Am\n"+tt.music+"\n"), abc.Options{})
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		if s.Meter.Parts != tt.want {
			t.Errorf("%s: counted %q, want %q", tt.name, s.Meter.Parts, tt.want)
		}
		told := slices.ContainsFunc(s.Problems, func(p leadsheet.Problem) bool { return p.Code == "groups-found" })
		if given := strings.Contains(tt.metre, "+"); told != (tt.want != "" && !given) {
			t.Errorf("%s: told %v: %v", tt.name, told, s.Problems)
		}
	}
}

// TestMetresAddUp: what a bar divides into fills it.
func TestMetresAddUp(t *testing.T) {
	for unit := 1; unit <= 64; unit *= 2 {
		for beats := 1; beats <= 64; beats++ {
			m := leadsheet.Meter{Beats: beats, Unit: unit}
			if sum := sumOf(m.Feet()); m.Uneven() != (sum == beats) {
				t.Errorf("%s is put together of %v", m, m.Feet())
			}
			if m.Uneven() && (m.Compound() || m.Strength(m.Groups()[0]) != 1) {
				t.Errorf("%s: groups %v", m, m.Groups())
			}
		}
	}
}

func sumOf(ns []int) (sum int) {
	for _, n := range ns {
		sum += n
	}
	return sum
}
