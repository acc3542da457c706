package technique

import (
	"os"
	"strings"
	"testing"
)

// TestTable holds what every technique must be: told, taught, recognised, and in
// a file of its own name.
func TestTable(t *testing.T) {
	seen := map[string]bool{}
	for _, x := range All() {
		if seen[x.ID] {
			t.Errorf("%s stands twice", x.ID)
		}
		seen[x.ID] = true
		if _, err := os.Stat(strings.ReplaceAll(x.ID, "-", "_") + ".go"); err != nil {
			t.Errorf("%s has no file of its own: %v", x.ID, err)
		}
		acts := map[Stage]bool{Device: x.Rewrite != nil || x.Paint != nil, Line: x.Shift != nil, LeftHand: x.Left != nil, RightHand: x.Right != nil, Ornament: x.Adorn != nil}
		for st, does := range acts {
			if does != (st == x.Stage) {
				t.Errorf("%s belongs to the stage %q but acts at %q", x.ID, x.Stage, st)
			}
		}
		if x.Recognise == nil || len(x.Needs) == 0 {
			t.Errorf("%s is not told whole", x.ID)
		}
		if x.Drill == NoDrill || x.Drill > lastDrill {
			t.Errorf("%s is not drilled", x.ID)
		}
		scale := x.Drill == OrnamentedScale || x.Drill == PairedScale || x.Drill == BlockScale || x.Drill == OctaveScale
		if scale != (x.Scale.Put != nil) || scale != (x.Scale.From > 0) {
			t.Errorf("%s is practised on a scale, or is not, without saying how", x.ID)
		}
		if (x.Adds != nil || x.Retell != nil) && x.Paint == nil || (x.Follow != nil || x.Delays || x.Beside) && x.Rewrite == nil {
			t.Errorf("%s has what belongs to another stage", x.ID)
		}
		for _, id := range x.Also {
			if _, ok := ByID(id); !ok || id == x.ID {
				t.Errorf("%s is said to contain %q", x.ID, id)
			}
		}
		for _, n := range x.Needs {
			if strings.Contains(n, " ") || n == "ties" { // a plain skill
				continue
			}
			if _, ok := ByID(n); !ok {
				t.Errorf("%s needs %q, which is no technique", x.ID, n)
			}
		}
	}
}
