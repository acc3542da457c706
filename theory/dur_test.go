package theory

import (
	"math"
	"math/big"
	"testing"
)

// durations is the unit table of durations and the seed of the fuzz test.
var durations = []struct {
	num, den int64
	want     Dur
	exact    bool
	text     string
}{
	{1, 1, 20160, true, "1"}, {1, 2, 10080, true, "1/2"}, {3, 8, 7560, true, "3/8"}, {1, 64, 315, true, "1/64"},
	{1, 12, 1680, true, "1/12"}, {1, 20, 1008, true, "1/20"}, {1, 28, 720, true, "1/28"}, {1, 160, 126, true, "1/160"},
	{0, 5, 0, true, "0"}, {-1, 4, -5040, true, "-1/4"}, {5, 4, 25200, true, "5/4"}, {4, 2, 40320, true, "2"},
	{1, 128, 158, false, "79/10080"}, {-1, 128, -158, false, "-79/10080"}, {1, 11, 1833, false, "611/6720"},
	{1, 1 << 40, 0, false, "0"}, {math.MaxInt64, 1, 1 << 62, false, ""}, {math.MinInt64, 1, -1 << 62, false, ""},
	{math.MaxInt64, 10081, 1 << 62, false, ""},
}

func TestFraction(t *testing.T) {
	for _, tt := range durations {
		d, exact := Fraction(tt.num, tt.den)
		if d != tt.want || exact != tt.exact {
			t.Errorf("%d/%d: %d, %v; want %d, %v", tt.num, tt.den, d, exact, tt.want, tt.exact)
		}
		if tt.text != "" && d.String() != tt.text {
			t.Errorf("%d/%d is written %s, want %s", tt.num, tt.den, d, tt.text)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("a denominator of 0 must panic")
		}
	}()
	Fraction(1, 0)
}

func TestNoteValues(t *testing.T) {
	for i, d := range []Dur{Whole, Half, Quarter, Eighth, Sixteenth, ThirtySecond, SixtyFourth} {
		if want, exact := Fraction(1, 1<<i); d != want || !exact {
			t.Errorf("1/%d is %d", 1<<i, d)
		}
		for _, tuplet := range []int64{3, 5, 7, 9} { // 64th septuplets and nonuplets included
			if _, exact := Fraction(1, int64(1<<i)*tuplet); !exact {
				t.Errorf("1/%d of 1/%d is not exact", tuplet, 1<<i)
			}
		}
	}
}

// FuzzFraction compares with exact rationals: the nearest Dur, half away from
// zero, and exact only where it is equal.
func FuzzFraction(f *testing.F) {
	for _, tt := range durations {
		f.Add(tt.num, tt.den)
	}
	f.Fuzz(func(t *testing.T, num, den int64) {
		if den <= 0 {
			return
		}
		d, exact := Fraction(num, den)
		want := new(big.Rat).Mul(big.NewRat(num, 1), big.NewRat(int64(Whole), 1))
		want.Quo(want, new(big.Rat).SetInt64(den))
		got := new(big.Rat).SetInt64(int64(d))
		limit := new(big.Rat).SetInt64(1 << 62)
		if new(big.Rat).Abs(want).Cmp(limit) >= 0 {
			if exact || got.Abs(got).Cmp(limit) != 0 {
				t.Fatalf("%d/%d: %d does not saturate", num, den, d)
			}
			return
		}
		diff := new(big.Rat).Sub(got, want)
		if exact != (diff.Sign() == 0) {
			t.Fatalf("%d/%d: exact is %v", num, den, exact)
		}
		if half := big.NewRat(1, 2); new(big.Rat).Abs(diff).Cmp(half) > 0 {
			t.Fatalf("%d/%d: %d is off by %s", num, den, d, diff)
		}
		if neg, _ := Fraction(-num, den); num != math.MinInt64 && neg != -d {
			t.Fatalf("%d/%d: %d and %d", num, den, d, neg)
		}
		if r, ok := new(big.Rat).SetString(d.String()); !ok || r.Mul(r, big.NewRat(int64(Whole), 1)).Cmp(got) != 0 {
			t.Fatalf("%d is written %s", d, d)
		}
	})
}
