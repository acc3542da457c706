package notate

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/internal/words"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestGolden(t *testing.T) {
	inputs, err := filepath.Glob("testdata/*.score")
	if err != nil || len(inputs) == 0 {
		t.Fatal("no scores in testdata", err)
	}
	used := map[string]bool{}
	for _, in := range inputs {
		golden := strings.TrimSuffix(in, ".score") + ".page"
		used[golden] = true
		t.Run(strings.TrimSuffix(filepath.Base(in), ".score"), func(t *testing.T) {
			src, err := os.ReadFile(in)
			if err != nil {
				t.Fatal(err)
			}
			s, err := scoretest.Parse(string(src))
			if err != nil {
				t.Fatal(err)
			}
			page, problems := Of(s)
			got := page.String()
			for _, p := range words.Must("en").Problems(problems) {
				got += p.String() + "\n"
			}
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("page differs from %s; got\n%s\nwant\n%s", golden, got, want)
			}
		})
	}
	if f := flag.Lookup("test.run"); f != nil && f.Value.String() != "" {
		return
	}
	pages, _ := filepath.Glob("testdata/*.page")
	for _, p := range pages {
		if !used[p] {
			t.Errorf("%s belongs to no score", p)
		}
	}
}
