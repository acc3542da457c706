package grade_test

import (
	"flag"
	"fmt"
	"slices"
	"sync"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/grade"
	"gradatim/internal/hand"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/ladders"
)

var (
	update = flag.Bool("update", false, "rewrite docs/recognition.md")
	every  = flag.Int("every", 1, "arrange every n-th of the shared sheets; 1: all of them")
)

// sampled arranges the sample at every level, once for all tests.
func sampled(t *testing.T) ([]string, [][]edition.Page) {
	t.Helper()
	if testing.Short() {
		t.Skip("arranges all shared sheets")
	}
	sample.Do(func() { sampleNames, sampleLadders = arrangeSample(t) })
	if len(sampleLadders) == 0 {
		sharedtest.Absent(t, "there is no sample")
	}
	return sampleNames, sampleLadders
}

var (
	sample        sync.Once
	sampleNames   []string
	sampleLadders [][]edition.Page
)

func arrangeSample(t *testing.T) (names []string, out [][]edition.Page) {
	t.Helper()
	var paths []string
	for i, path := range sharedtest.Sheets(t) {
		if i%*every == 0 {
			paths = append(paths, path)
		}
	}
	for name, as := range ladders.Each(t, paths) {
		names, out = append(names, name), append(out, as)
	}
	if len(names) != len(paths) {
		t.FailNow()
	}
	return names, out
}

// TestLaddersClimb reports how many of the sample's ladders rise strictly, by the
// rating that a reader sees, and what falls where they do not.
func TestLaddersClimb(t *testing.T) {
	names, all := sampled(t)
	for _, way := range []struct {
		name  string
		opt   grade.Options
		floor int // percent
	}{
		{"without fingering", grade.Options{WithoutTechniques: true}, 84},
		{"with fingering", grade.Options{WithoutTechniques: true, Fingering: grade.ByHand(hand.Default())}, 95},
	} {
		strict := 0
		falls := map[string]int{}
		for i, as := range all {
			var rs []grade.Rating
			line := ""
			for _, a := range as {
				r := grade.Rate(a.Score, way.opt)
				rs = append(rs, r)
				line += fmt.Sprintf(" %d.%d", r.Number/10, r.Number%10)
			}
			rises := true
			for _, st := range grade.Climbs(rs) {
				if st.Rises {
					continue
				}
				rises = false
				for _, f := range st.Falls {
					falls[fmt.Sprintf("%d→%d %s", as[st.From].Level.Number, as[st.To].Level.Number, f.ID)]++
				}
			}
			if rises {
				strict++
			} else {
				t.Logf("%s, %s:%s", way.name, names[i], line)
			}
		}
		t.Logf("%s: %d of %d ladders rise strictly; what falls in the others: %v", way.name, strict, len(all), falls)
		if strict*100 < way.floor*len(all) {
			t.Errorf("%s: only %d of %d ladders rise strictly", way.name, strict, len(all))
		}
	}
}

// TestTypicalPages measures the marks of the scale again: the median page of each level
// must stand within a quarter of a step of its place; of a part of the sheets, which has
// more of one kind than the whole, nearer to it than to another.
func TestTypicalPages(t *testing.T) {
	_, all := sampled(t)
	may := 25
	if *every > 1 {
		may = 49
	}
	for name, opt := range map[string]grade.Options{
		"without fingering": {WithoutTechniques: true},
		"with fingering":    {WithoutTechniques: true, Fingering: grade.ByHand(hand.Default())},
	} {
		numbers, sums := map[int][]grade.Number{}, map[int][]int{}
		for _, as := range all {
			for _, a := range as {
				r := grade.Rate(a.Score, opt)
				numbers[a.Level.Number] = append(numbers[a.Level.Number], r.Number)
				sums[a.Level.Number] = append(sums[a.Level.Number], r.Sum)
			}
		}
		for level, ns := range numbers {
			slices.Sort(ns)
			slices.Sort(sums[level])
			median := ns[len(ns)/2]
			t.Logf("%s, level %d: number %d tenths, sum %d", name, level, median, sums[level][len(ns)/2])
			if off := int(median) - 100*level; off < -may || off > may {
				t.Errorf("%s: the typical page of level %d stands at %d tenths (sum %d)", name, level, median, sums[level][len(ns)/2])
			}
		}
	}
}
