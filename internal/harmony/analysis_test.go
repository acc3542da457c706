package harmony

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/leadsheet"
)

var update = flag.Bool("update", false, "write the golden files")

// report writes an analysis as text: what the goldens hold.
func report(s leadsheet.Song, a Analysis) string {
	var b strings.Builder
	fmt.Fprintf(&b, "key %s, estimated %s\n", a.Key, a.Estimate)
	for i, p := range a.Phrases {
		fmt.Fprintf(&b, "\nphrase %d: bars %d–%d, %s, a chord lasts %s", i+1,
			s.Bars[p.First].Number, s.Bars[p.Last].Number, p.Cadence, p.Rhythm)
		if p.Goal >= 0 {
			fmt.Fprintf(&b, ", closes on %s (%s)", s.Melody[p.Goal].Pitch, where(s, s.Melody[p.Goal].At))
		}
		b.WriteByte('\n')
		for _, sp := range a.Spans {
			if sp.At >= p.At && sp.At < p.End {
				fmt.Fprintf(&b, "  %-8s %-8s %-10s %s", where(s, sp.At), sp.Chord, sp.Roman, sp.Function)
				if sp.Resolves {
					fmt.Fprintf(&b, " to %s", sp.Target)
				}
				b.WriteByte('\n')
			}
		}
		for k := p.From; k < p.To; k++ {
			n, r := s.Melody[k], a.Roles[k]
			fmt.Fprintf(&b, "    %-8s %-4s %-4s %2d %s\n", where(s, n.At), n.Pitch, r.Degree, r.Weight, r.Kind)
		}
	}
	b.WriteByte('\n')
	for _, g := range a.Gaps {
		how := "rest"
		if g.Held {
			how = "held"
		}
		end := ""
		if g.PhraseEnd {
			end = ", phrase end"
		}
		fmt.Fprintf(&b, "gap %s to %s, %s%s\n", where(s, g.At), where(s, g.End), how, end)
	}
	for _, p := range a.Problems {
		fmt.Fprintln(&b, p)
	}
	return b.String()
}

// golden compares with a file of testdata, or writes it.
func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("testdata", name+".txt")
	if *update {
		if err := os.MkdirAll("testdata", 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatalf("%v (write it with -update)", err)
	}
	if got != string(want) {
		t.Errorf("%s differs from its golden file; see the diff after -update. Got:\n%s", name, got)
	}
}

func TestAnalyseTunes(t *testing.T) {
	for _, tt := range tunes {
		t.Run(tt.name, func(t *testing.T) {
			s := song(t, tt.meter, tt.key, tt.text)
			golden(t, tt.name, report(s, Analyse(s)))
		})
	}
}
