package perform_test

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/perform"
)

var update = flag.Bool("update", false, "write the golden files")

func TestGolden(t *testing.T) {
	for name, text := range map[string]string{"tune": tune, "walk": walk} {
		var b strings.Builder
		p := play(t, text, perform.Options{})
		for _, e := range p.Events() {
			fmt.Fprintln(&b, e)
		}
		for _, q := range p.Timing.Points {
			fmt.Fprintf(&b, "%v bar %d beat %v: %.6f s\n", q.At, q.Bar, q.Beat, q.Seconds)
		}
		file := filepath.Join("testdata", name+".txt")
		if *update {
			if err := os.WriteFile(file, []byte(b.String()), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if b.String() != string(want) {
			t.Errorf("%s differs from %s; run with -update and read the difference", name, file)
		}
	}
}
