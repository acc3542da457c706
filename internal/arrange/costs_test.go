package arrange

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// costTable names every weight of the two searches. A weight that changes shows here
// by its name.
func costTable() string {
	var b strings.Builder
	row := func(name string, v any) { fmt.Fprintf(&b, "%-52s %v\n", name, v) }
	row("weight of a technique's own preference", taste)
	row("a figure of another technique than the phrase's", offDress)
	row("the technique of last resort", resort)
	row("a guide tone missing while the chord is new", vague)
	row("a chord struck below its own bass", inverted)
	row("an altered note that nobody plays", promised)
	row("another colour that nobody plays", hinted)
	row("a suspended fourth that does not fall", unresolved)
	row("a figure repeated note for note over one chord", bare)
	row("what one more note is worth on a fuller page", busy)
	row("a hand that rests where it could play", silent)
	row("a section that begins on another note than its bass", noRoot)
	row("a device twice running", monotony)
	row("a device that does not go where it leads", misled)
	row("what a teacher insists on", -insistence)
	for d, l := range lowLimit {
		if l.soft > 0 {
			row(fmt.Sprintf("lowest clear, lowest possible key under %2d semitones", d), fmt.Sprint(l.soft, " ", l.hard))
		}
	}
	return b.String()
}

func TestCostTable(t *testing.T) {
	file := filepath.Join("testdata", "costs.golden")
	got := costTable()
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the costs are\n%s\nthe golden file has\n%s", got, want)
	}
}
