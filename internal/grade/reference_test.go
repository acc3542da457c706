package grade

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
)

func table(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(sharedtest.Path(t, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comma, r.LazyQuotes, r.FieldsPerRecord = '\t', true, -1
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows
}

// Source: table difficulty_by_grade, medians and quartiles computed from the
// published feature file of Ramoneda et al. 2024 (660 pieces, nine levels).
func TestTablesAreThePublishedOnes(t *testing.T) {
	rows := table(t, "tables/difficulty_by_grade.tsv")
	columns := map[string]*reference{}
	for i, hand := range []string{"rh", "lh"} {
		columns[hand+"_pitch_entropy"] = &varietyTable[i]
		columns[hand+"_pitch_range"] = &compassTable[i]
		columns[hand+"_displacement_rate"] = &movesTable[i]
		columns[hand+"_average_ioi_seconds"] = &betweenTable[i]
		columns[hand+"_pitch_set_lz"] = &patternTable[i]
	}
	cell := regexp.MustCompile(`^([0-9.]+) \(([0-9.]+)-([0-9.]+)\)$`)
	milli := func(s string) int {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return int(math.Round(f * 1000))
	}
	if len(rows) != grades+1 {
		t.Fatalf("%d levels", len(rows)-1)
	}
	checked := 0
	for c, name := range rows[0] {
		ref := columns[strings.TrimSuffix(name, " median(q1-q3)")]
		if ref == nil {
			continue
		}
		for k, row := range rows[1:] {
			m := cell.FindStringSubmatch(row[c])
			if m == nil {
				t.Fatalf("%s, level %d: %q", name, k+1, row[c])
			}
			if want := (quartiles{milli(m[2]), milli(m[1]), milli(m[3])}); ref[k] != want {
				t.Errorf("%s, level %d: %v, published %v", name, k+1, ref[k], want)
			}
			checked++
		}
	}
	for k, row := range rows[1:] {
		if n, _ := strconv.Atoi(row[1]); n != pieces[k] {
			t.Errorf("level %d: %d pieces, published %s", k+1, pieces[k], row[1])
		}
	}
	if checked != 10*grades {
		t.Fatalf("%d values checked", checked)
	}
}

// Source: table finger_spans (Parncutt et al. 1997, transcribed).
func TestFingerSpansAreThePublishedOnes(t *testing.T) {
	n := 0
	for _, row := range table(t, "tables/finger_spans.tsv") {
		m := regexp.MustCompile(`^([1-5])-([1-5])$`).FindStringSubmatch(row[0])
		if m == nil || len(row) < 7 {
			continue
		}
		var v [6]int
		for i := range v {
			f := strings.FieldsFunc(row[1+i], func(r rune) bool { return r == ' ' || r == '(' })
			x, err := strconv.Atoi(f[0])
			if err != nil {
				t.Fatal(row)
			}
			v[i] = x
		}
		a, b := int(m[1][0]-'0'), int(m[2][0]-'0')
		if got, want := spans[a][b], (span{v[0], v[1], v[2], v[3], v[4], v[5]}); got != want {
			t.Errorf("%d-%d: %v, published %v", a, b, got, want)
		}
		n++
	}
	if n != 10 {
		t.Fatalf("%d pairs", n)
	}
}

// Facts 37 and 38 of the table of facts: right-hand entropy rises over all nine
// levels, left-hand displacement goes from .37 to .91.
func TestFactsOfTheTable(t *testing.T) {
	for k := 1; k < grades; k++ {
		if varietyTable[0][k].mid <= varietyTable[0][k-1].mid {
			t.Errorf("entropy does not rise to level %d", k+1)
		}
	}
	if a, b := movesTable[1][0].mid, movesTable[1][grades-1].mid; a != 370 || b != 910 {
		t.Errorf("displacement from %d to %d", a, b)
	}
}

// Fact 36, table difficulty_tau: what follows the grade better must not weigh less.
// Kendall's τ of both hands: entropy .58, patterns .58, displacement .30, time
// between strikes −.21, mean pitch about 0 (which has no weight at all).
func TestWeightsFollowTau(t *testing.T) {
	tau := map[string]float64{}
	for _, row := range table(t, "tables/difficulty_tau.tsv")[1:] {
		v, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(row)
		}
		name := strings.TrimSuffix(strings.TrimSuffix(row[0], " RH"), " LH")
		tau[name] += math.Abs(v) / 2
	}
	s := parse(t, scale)
	weight := map[string]int{}
	for _, f := range Rate(s, Options{}).Features {
		weight[f.ID] = f.weight
	}
	names := [][2]string{{"pitch-set LZ", "patterns"}, {"pitch entropy", "variety"}, {"displacement rate", "moves"}, {"average IOI", "speed"}}
	for _, a := range names {
		for _, b := range names {
			if tau[a[0]] > tau[b[0]]+0.02 && weight[a[1]] < weight[b[1]] {
				t.Errorf("%s (τ %.2f) weighs %d, %s (τ %.2f) %d", a[1], tau[a[0]], weight[a[1]], b[1], tau[b[0]], weight[b[1]])
			}
		}
	}
	if tau["average pitch"] > 0.1 {
		t.Errorf("mean pitch: τ %.2f", tau["average pitch"])
	}
}

func TestMarksRise(t *testing.T) {
	for _, fingered := range []bool{false, true} {
		m := marks(fingered)
		for k := 1; k < grades; k++ {
			if m[k]-m[k-1] < 20 {
				t.Errorf("fingered %v: level %d at %d, level %d at %d", fingered, k, m[k-1], k+1, m[k])
			}
		}
		for k := range m {
			if got := place(m, m[k]); got != 100*(k+1) {
				t.Errorf("the median piece of level %d is placed at %d hundredths", k+1, got)
			}
		}
	}
}

// Of two values the higher is never placed lower, inside the marks and beyond, and
// nothing leaves the scale.
func TestPlaceIsMonotone(t *testing.T) {
	m := marks(false)
	last := 0
	for v := -20000; v <= 20000; v += 7 {
		at := place(m, v)
		if at < last || at < 0 || at > 1000 {
			t.Fatalf("%d is placed at %d after %d", v, at, last)
		}
		last = at
	}
	for i := range hands {
		for name, r := range map[string]reference{"variety": varietyTable[i], "moves": movesTable[i], "speed": speeds(betweenTable[i]), "patterns": perStretch(patternTable[i])} {
			last := 0
			for v := 0; v < 100000; v += 11 {
				if at := r.level(v); at < last || at > 100 {
					t.Fatalf("%s: %d is placed at %d after %d", name, v, at, last)
				} else {
					last = at
				}
			}
		}
	}
}

// The spread of the published medians, computed once more with floats.
func TestSpread(t *testing.T) {
	for i := range hands {
		for _, r := range []reference{varietyTable[i], compassTable[i], movesTable[i]} {
			sum, n := 0.0, 0.0
			for k, q := range r {
				sum += float64(q.mid * pieces[k])
				n += float64(pieces[k])
			}
			mean, v := sum/n, 0.0
			for k, q := range r {
				sd := float64(q.high-q.low) / 1.349
				v += float64(pieces[k]) * (sd*sd + (float64(q.mid)-mean)*(float64(q.mid)-mean))
			}
			if want := math.Sqrt(v / n); math.Abs(want-float64(r.spread())) > 2 || math.Abs(mean-float64(r.mean())) > 1 {
				t.Errorf("%d ± %d, want %.1f ± %.1f", r.mean(), r.spread(), mean, want)
			}
		}
	}
}

func TestRoot(t *testing.T) {
	for n := 0; n < 1<<22; n += 1 + n/50 {
		if got := root(n); got*got > n || (got+1)*(got+1) <= n {
			t.Fatal(fmt.Sprint(n, " → ", got))
		}
	}
}
