package technique

import (
	"os"
	"strings"
	"testing"
)

// TestTable holds what every technique must be: recognised, drilled, and in a file
// of its own name.
func TestTable(t *testing.T) {
	seen := map[string]bool{}
	level := 0
	for _, x := range All() {
		if seen[x.ID] {
			t.Errorf("%s stands twice", x.ID)
		}
		seen[x.ID] = true
		if x.Level < level {
			t.Errorf("%s of level %d stands after level %d: the table is in teaching order", x.ID, x.Level, level)
		}
		level = x.Level
		if _, err := os.Stat(strings.ReplaceAll(x.ID, "-", "_") + ".go"); err != nil {
			t.Errorf("%s has no file of its own: %v", x.ID, err)
		}
		acts := map[Stage]bool{Device: x.Rewrite != nil || x.Paint != nil, Line: x.Shift != nil, LeftHand: x.Left != nil, RightHand: x.Right != nil, Ornament: x.Adorn != nil}
		for st, does := range acts {
			if does != (st == x.Stage) {
				t.Errorf("%s belongs to the stage %q but acts at %q", x.ID, x.Stage, st)
			}
		}
		if x.Recognise == nil || len(x.Needs) == 0 || x.Drill == NoDrill {
			t.Errorf("%s is not told whole", x.ID)
		}
		for _, n := range x.Needs {
			need, ok := ByID(n)
			if strings.Contains(n, " ") || n == "ties" { // a plain skill
				continue
			}
			if !ok {
				t.Errorf("%s needs %q, which is no technique", x.ID, n)
			} else if need.Level > x.Level {
				t.Errorf("%s of level %d needs %s of level %d", x.ID, x.Level, n, need.Level)
			}
		}
	}
}
