package grade

import (
	"encoding/csv"
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

// grades is the number of grades of the published pieces.
const grades = 9

// quartiles are the values of a measure in the pieces of one grade, in thousandths.
type quartiles struct{ low, mid, high float64 }

// graded are the published measures, by name ("rh_pitch_entropy"), and how many pieces
// each grade rests on.
type graded struct {
	measure map[string][grades]quartiles
	pieces  [grades]float64
}

// published reads table difficulty_by_grade: medians and quartiles computed from the
// feature file of Ramoneda et al. 2024 (ISMIR), 660 pieces in nine grades.
func published(t *testing.T) graded {
	t.Helper()
	rows := table(t, "tables/difficulty_by_grade.tsv")
	if len(rows) != grades+1 {
		t.Fatalf("%d grades", len(rows)-1)
	}
	cell := regexp.MustCompile(`^([0-9.]+) \(([0-9.]+)-([0-9.]+)\)$`)
	milli := func(s string) float64 {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		return f * 1000
	}
	out := graded{measure: map[string][grades]quartiles{}}
	for c, name := range rows[0] {
		name, ok := strings.CutSuffix(name, " median(q1-q3)")
		if !ok {
			continue
		}
		var qs [grades]quartiles
		for k, row := range rows[1:] {
			m := cell.FindStringSubmatch(row[c])
			if m == nil {
				t.Fatalf("%s, grade %d: %q", name, k+1, row[c])
			}
			qs[k] = quartiles{milli(m[2]), milli(m[1]), milli(m[3])}
		}
		out.measure[name] = qs
	}
	for k, row := range rows[1:] {
		out.pieces[k] = milli(row[1]) / 1000
	}
	return out
}

// lengths is how many bars a piece of each grade is taken to have. The published
// pattern counts are of whole pieces whose lengths are not published; without a
// length they cannot be compared with a count for 16 bars. These are derived, not
// published: 16 bars of 2.2 s hold n strikes at the grade's time between strikes,
// a parsing of n symbols of entropy rate h has about n·h/log₂ n pieces, with h
// rising from 2.2 to 4 bits; the count of the whole piece, divided by that, gives
// its length.
var lengths = [grades]float64{15, 18, 23, 31, 40, 50, 60, 85, 116}

// measures gives what the rating measures by hand and id, in its own units.
func (g graded) measures(hand int, id string) [grades]quartiles {
	prefix := [2]string{"rh_", "lh_"}[hand]
	switch id {
	case "variety":
		return g.measure[prefix+"pitch_entropy"]
	case "compass":
		return g.measure[prefix+"pitch_range"]
	case "moves":
		return g.measure[prefix+"displacement_rate"]
	case "speed": // strikes a second from the time between them
		qs := g.measure[prefix+"average_ioi_seconds"]
		for k, q := range qs {
			qs[k] = quartiles{1e6 / q.high, 1e6 / q.mid, 1e6 / q.low}
		}
		return qs
	case "patterns":
		// Most of the spread within a grade comes from the pieces' lengths; what is left
		// of it is taken to be a quarter of the median either way.
		qs := g.measure[prefix+"pitch_set_lz"]
		for k, q := range qs {
			mid := q.mid * lzBars / lengths[k]
			qs[k] = quartiles{.75 * mid, mid, 1.25 * mid}
		}
		return qs
	}
	panic(id)
}

var publishedNorms = map[string]*[2]norm{"patterns": &patternNorm, "variety": &varietyNorm, "moves": &movesNorm, "speed": &speedNorm, "compass": &compassNorm}

// The norms are those of the published pieces: the mean of the medians over all pieces;
// the spread between the grades together with that within each, where a normal
// distribution's quartiles lie 1.349 deviations apart.
func TestNormsAreThePublishedOnes(t *testing.T) {
	g := published(t)
	for id, norms := range publishedNorms {
		for i := range hands {
			qs := g.measures(i, id)
			sum, n := 0.0, 0.0
			for k, q := range qs {
				sum += q.mid * g.pieces[k]
				n += g.pieces[k]
			}
			mean, v := sum/n, 0.0
			for k, q := range qs {
				sd := (q.high - q.low) / 1.349
				v += g.pieces[k] * (sd*sd + (q.mid-mean)*(q.mid-mean))
			}
			spread := math.Sqrt(v / n)
			got := norms[i]
			if math.Abs(mean-float64(got.mean)) > 1+mean/5000 || math.Abs(spread-float64(got.spread)) > 2+spread/5000 {
				t.Errorf("%s, %s: %v, published %.1f ± %.1f", id, hands[i], got, mean, spread)
			}
		}
	}
}

// A piece that is the median of its grade in everything published stands the higher
// the higher its grade.
func TestPublishedGradesRise(t *testing.T) {
	g := published(t)
	weights := map[string]int{"patterns": 25, "variety": 15, "moves": 15, "speed": 15}
	var last Number
	for k := range grades {
		var fs []Feature
		for id, w := range weights {
			for i := range hands {
				fs = append(fs, Feature{Hand: hands[i], weight: w, z: publishedNorms[id][i].z(int(g.measures(i, id)[k].mid))})
			}
		}
		n := bareMarks.place(weigh(fs, func(f Feature) int { return f.z }))
		t.Logf("grade %d: %d tenths", k+1, n)
		if n <= last {
			t.Errorf("grade %d stands at %d, the one below at %d", k+1, n, last)
		}
		last = n
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
// grades, left-hand displacement goes from .37 to .91.
func TestFactsOfTheTable(t *testing.T) {
	g := published(t)
	entropy, moves := g.measures(0, "variety"), g.measures(1, "moves")
	for k := 1; k < grades; k++ {
		if entropy[k].mid <= entropy[k-1].mid {
			t.Errorf("entropy does not rise to grade %d", k+1)
		}
	}
	if a, b := moves[0].mid, moves[grades-1].mid; math.Round(a) != 370 || math.Round(b) != 910 {
		t.Errorf("displacement from %.0f to %.0f", a, b)
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
