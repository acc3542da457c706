package plan_test

import (
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/plan"
)

// The weaves of a page make an arc: what is sung begins with a voice under its long
// notes and ends its last return in octaves; what is danced has a second voice from its
// beginning, also where it is heard again at once an octave higher, and ends over chords. A level without an arc
// plans none of it. (Common practice, no source.)
func TestArc(t *testing.T) {
	const reel = `"C"G/A/B/c/ c/B/A|"G"G/A/B/A/ G/B/c|"C"c/B/A/G/ F/E/G|"G"G/B/A/B/ "C"c2|`
	for _, tt := range []struct {
		name, kind, body string
		arc              ladder.Arc
		want             []plan.Weave // of the first phrase of each section
		turns, octaves   []int
	}{
		{"none", "parlour-song", "[P:A]" + partA + "[P:B]" + high + "[P:A]" + partA, ladder.NoArc,
			[]plan.Weave{plan.Unplanned, plan.Unplanned, plan.Unplanned}, []int{0, 1, 0}, []int{0, 0, 0}},
		{"song", "parlour-song", "[P:A]" + partA + "[P:B]" + high + "[P:A]" + partA, ladder.ToReturn,
			[]plan.Weave{plan.Inner, plan.Chords, plan.Grand}, []int{0, 1, 0}, []int{0, 0, 0}},
		{"dance", "reel", "[P:A]" + reel + reel + "[P:A]" + reel + reel + "[P:B]" + reel + reel + "[P:B]" + reel + reel, ladder.ToClimax,
			[]plan.Weave{plan.Second, plan.Second, plan.Chords, plan.Chords}, []int{0, 1, 2, 3}, []int{0, 1, 0, 0}},
	} {
		s := read(t, tt.body)
		kind, ok := idiom.Named(tt.kind, idiom.All())
		if !ok {
			t.Fatal(tt.kind)
		}
		p := plan.Make(s, harmony.Analyse(s), kind, ladder.Level{Dynamics: ladder.PhraseDynamics, Arc: tt.arc})
		if len(p.Sections) != len(tt.want) {
			t.Fatalf("%s: %d sections", tt.name, len(p.Sections))
		}
		for i, sec := range p.Sections {
			if got := sec.Phrases[0].Weave; got != tt.want[i] || sec.Turn != tt.turns[i] || sec.Octave != tt.octaves[i] {
				t.Errorf("%s: section %d: %q, turn %d, octave %d; want %q, %d, %d", tt.name, i+1, got, sec.Turn, sec.Octave, tt.want[i], tt.turns[i], tt.octaves[i])
			}
		}
	}
}

// A dance's first section has the tune alone on a page without an arc, and the next a second
// voice; a level with less beside the tune plans nothing.
func TestContrast(t *testing.T) {
	reel := `"C"C2 E2 G2 c2|"F"A2 F2 "G7"G2 E2|"C"C2 E2 G2 c2|"G7"B2 G2 "C"c4|`
	s := read(t, "[P:A]"+reel+reel+"[P:B]"+reel+reel)
	kind, _ := idiom.Named("reel", idiom.All())
	for support, want := range map[int][]plan.Weave{1: {plan.Unplanned, plan.Unplanned}, 2: {plan.Alone, plan.Second}} {
		p := plan.Make(s, harmony.Analyse(s), kind, ladder.Level{Support: support})
		for i, sec := range p.Sections {
			if got := sec.Phrases[0].Weave; got != want[i] {
				t.Errorf("support %d, section %d: %q, want %q", support, i+1, got, want[i])
			}
		}
	}
}
