package score_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/score"
)

func ExampleSwingRatio() {
	for _, tempo := range []int{120, 200, 240, 300} {
		fmt.Println(tempo, score.SwingRatio(tempo))
	}
	// Output:
	// 120 {2 1}
	// 200 {2 1}
	// 240 {3 2}
	// 300 {1 1}
}

// The table was derived from Friberg and Sundström 2002 (short note of 100 ms,
// 1:1 at fast tempi) and bounded by 2:1.
func TestSwingRatioFollowsTheTable(t *testing.T) {
	f, err := os.Open(sharedtest.Path(t, "tables/swing_ratio.tsv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comma, r.LazyQuotes = '\t', true
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 10 {
		t.Fatal(len(rows), err)
	}
	for _, row := range rows[1:] {
		tempo, _ := strconv.Atoi(row[0])
		got := score.SwingRatio(tempo)
		if text := fmt.Sprintf("%d:%d", got.First, got.Second); text != row[6] {
			t.Errorf("%d bpm: %s, table %s", tempo, text, row[6])
		}
		if exact, _ := strconv.ParseFloat(row[5], 64); math.Abs(got.Upbeat()-exact) > 0.013 {
			t.Errorf("%d bpm: upbeat at %.3f, table %.3f", tempo, got.Upbeat(), exact)
		}
	}
}

func TestSwingRatioNeverShortensBelow100ms(t *testing.T) {
	last := score.Ratio{First: 2, Second: 1}
	for tempo := 40; tempo <= 400; tempo++ {
		r := score.SwingRatio(tempo)
		if last.Less(r) {
			t.Fatalf("%d bpm swings more than %d", tempo, tempo-1)
		}
		last = r
		// Rounding to a printable ratio may cost some milliseconds.
		if short := 60000 / float64(tempo) * (1 - r.Upbeat()); short < 95 && tempo < 300 {
			t.Errorf("%d bpm: short note %.0f ms", tempo, short)
		}
	}
}
