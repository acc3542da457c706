package grade

import (
	"math"
	"slices"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/scoretest"
	"gradatim/score"
)

func parse(t testing.TB, text string) score.Score {
	t.Helper()
	s, err := scoretest.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const scale = `
meter 4/4
tempo 60
R1 C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1/4 A4:1/4 B4:1/4 C5:1/4
L1 C3:1/2 <E3+G3>:1/2 F#3:1
`

// Shannon's entropy in floating point is the judge of ours in integers; the last
// half thousandth is rounding.
func TestVariety(t *testing.T) {
	for _, tt := range []struct {
		counts []int
		want   int
	}{
		{nil, 0}, {[]int{5}, 0}, {[]int{1, 1}, 1000}, {[]int{1, 1, 1, 1, 1, 1, 1, 1}, 3000},
		{[]int{2, 1, 1}, 1500}, {[]int{8, 4, 2, 1, 1}, 1875}, {[]int{1, 1, 1}, 1585},
	} {
		if got := variety(tt.counts); got != tt.want {
			t.Errorf("%v: %d, want %d", tt.counts, got, tt.want)
		}
	}
	seed := uint32(1)
	for range 200 {
		var counts []int
		total, h := 0, 0.0
		for range 40 {
			seed = seed*1664525 + 1013904223
			counts = append(counts, int(seed>>24)%50)
			total += counts[len(counts)-1]
		}
		for _, n := range counts {
			if n > 0 {
				p := float64(n) / float64(total)
				h -= p * math.Log2(p)
			}
		}
		if got := variety(counts); math.Abs(float64(got)-1000*h) > 0.6 {
			t.Fatalf("%v: %d, want %.2f", counts, got, 1000*h)
		}
	}
}

func TestLog2(t *testing.T) {
	for n := uint64(1); n < 1<<40; n += 1 + n/97 {
		want := math.Log2(float64(n)) * (1 << log2Bits)
		if got := float64(log2(n)); got > want+1e-6 || got < want-1.01 {
			t.Fatalf("log2(%d) = %.0f, want %.3f", n, got, want)
		}
	}
}

// The incremental parsing of Ziv and Lempel 1978 by hand: each piece is the
// shortest not met before. (A·B·BC·BCA·BA·BCAA, a text-book string; from memory.)
func TestParsing(t *testing.T) {
	for _, tt := range []struct {
		text string
		want int
	}{
		{"", 0}, {"A", 1}, {"AAAAAA", 3}, {"ABBCBCABABCAA", 6}, {"ABCDEF", 6}, {"ABABABABAB", 5},
	} {
		z := parsing{}
		z.reset()
		got := 0
		for _, c := range tt.text {
			var k keySet
			k.add(int(c))
			if z.next(k) {
				got++
			}
		}
		if got != tt.want {
			t.Errorf("%q: %d pieces, want %d", tt.text, got, tt.want)
		}
	}
}

// Equal stretches of sixteen bars count alike, however long the piece: what is
// played twice as often is not twice as hard.
func TestPatternsDoNotGrowWithLength(t *testing.T) {
	bar := "C4:1/4 E4:1/4 G4:1/4 <C4+E4>:1/4 "
	text := func(n int) string {
		out := "meter 4/4\ntempo 60\nR1 "
		for range n {
			out += bar
		}
		return out + "\nL1 C3:1\n"
	}
	var last int
	for _, n := range []int{16, 32, 48, 160} {
		p := measure(parse(t, text(n)), Options{})
		got := p.patterns(0)
		if last != 0 && got != last {
			t.Errorf("%d bars: %d, want %d as before", n, got, last)
		}
		last = got
	}
	if p := measure(parse(t, text(20)), Options{}); p.patterns(0) != last {
		t.Errorf("20 bars: %d, want %d", p.patterns(0), last)
	}
}

// Moves as displacement is defined in the trade notes: the largest distance between old and
// new extremes, 0 below 7 half steps, 1 from 7, 2 from 12, over twice the moves.
func TestMoves(t *testing.T) {
	for _, tt := range []struct {
		notes string
		want  int // thousandths
	}{
		{"C4:1/4 D4:1/4 E4:1/4 F4:1/4", 0},
		{"C4:1/4 G4:1/4 C4:1/4 G4:1/4", 500},
		{"C4:1/4 C5:1/4 C4:1/4 C5:1/4", 1000},
		{"C4:1/4 F#4:1/4 C4:1/4 C5:1/4", 333},
		{"C3:1/4 <E3+G3>:1/4 C3:1/4 <E3+G3>:1/4", 500}, // C to G and back
		{"<C4+G4>:1/4 <C4+G4>:1/4", 500},               // its own extremes, old against new
		{"C4:1", 0},
	} {
		r := Rate(parse(t, "tempo 60\nR1 "+tt.notes+"\n"), Options{})
		if f := feature(t, r, "moves", score.Right); f.Value != tt.want {
			t.Errorf("%s: %d, want %d", tt.notes, f.Value, tt.want)
		}
	}
}

func feature(t testing.TB, r Rating, id string, h score.Hand) Feature {
	t.Helper()
	i := slices.IndexFunc(r.Features, func(f Feature) bool { return f.ID == id && f.Hand == h })
	if i < 0 {
		t.Fatalf("no feature %s, %s", id, h)
	}
	return r.Features[i]
}

func TestFeaturesOfASmallPage(t *testing.T) {
	r := Rate(parse(t, scale), Options{})
	for _, tt := range []struct {
		id   string
		hand score.Hand
		want int
	}{
		{"variety", score.Right, 3000}, {"variety", score.Left, 2000},
		{"compass", score.Right, 12000}, {"compass", score.Left, 7000},
		{"speed", score.Right, 1000}, {"speed", score.Left, 500},
		{"polyphony", score.Right, 1000}, {"polyphony", score.Left, 1333},
		{"patterns", score.Right, 33686}, // eight new sets in two bars: 8·8·log₂9/log₂65, scaled
		{"accidentals", 0, 83},           // F♯, one note of twelve
		{"rhythm", 0, 0},
	} {
		if f := feature(t, r, tt.id, tt.hand); f.Value != tt.want {
			t.Errorf("%s, %s: %d, want %d", tt.id, tt.hand, f.Value, tt.want)
		}
	}
}

func TestRhythm(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		want       pulses
	}{
		{"together", "R1 C5:1/8 D5:1/8 E5:1/4 F5:1/2\nL1 C3:1/4 G3:1/4 C3:1/2", pulses{beats: 3}},
		{"held over", "R1 C5:1/8 D5:1/4 E5:1/8 F5:1/2\nL1 C3:1/4 G3:1/4 C3:1/2", pulses{beats: 3, held: 1}},
		{"three against two", "R1 C5:1/12 D5:1/12 E5:1/12 F5:3/4\nL1 C3:1/8 G3:1/8 C3:3/4", pulses{beats: 2, uneven: 1, crossing: 1}},
		{"triplets alone", "R1 C5:1/12 D5:1/12 E5:1/12 F5:3/4\nL1 C3:1/4 G3:3/4", pulses{beats: 2, uneven: 1}},
		{"between", "R1 C5:1/8 D5:1/8 F5:3/4\nL1 C3:3/16 G3:1/16 C3:3/4", pulses{beats: 2, crossing: 1}},
		{"one inside the other", "R1 C5:1/16 D5:1/16 E5:1/16 D5:1/16 F5:3/4\nL1 C3:1/8 G3:1/8 C3:3/4", pulses{beats: 2}},
		{"6/8", "meter 6/8\nR1 C5:1/8 D5:1/8 E5:1/8 F5:3/8\nL1 C3:3/8 G3:3/8", pulses{beats: 2}},
		{"two in a compound beat", "meter 6/8\nR1 C5:3/16 D5:3/16 F5:3/8\nL1 C3:3/8 G3:3/8", pulses{beats: 2}},
		{"pick-up", "pickup 1/8\nR1 G4:1/8 C5:1\nL1 r:1/8 C3:1", pulses{beats: 2}},
	} {
		p := measure(parse(t, "tempo 60\n"+tt.text+"\n"), Options{})
		if got := p.pulseSums(0, len(p.bars)); got != tt.want {
			t.Errorf("%s: %+v, want %+v", tt.name, got, tt.want)
		}
	}
}

// The published rules by hand (table fingering_rules): a scale in one position
// costs its fourth finger, the thumb passing one point, a thumb on black more.
func TestFingeringPoints(t *testing.T) {
	for _, tt := range []struct {
		name, notes string
		want        int
	}{
		{"five fingers", "C4:1/4*f1 D4:1/4*f2 E4:1/4*f3 F4:1/4*f4 G4:1/4*f5", 2}, // 4 itself, and 4 after 3
		{"thumb under", "E4:1/4*f3 F4:1/4*f1", 5 + 1},                            // cramped by 5 twelfths, passing on one level
		{"thumb on black", "E4:1/4*f2 F#4:1/4*f1", 3 + 3 + 3},                    // cramped by 3, black after white, passing upwards
		{"the same finger", "C4:1/4*f1 E4:1/4*f1", 3},                            // twelfths of an octave on real keys
		{"a stretch", "C4:1/4*f2 G4:1/4*f3", lifted},
	} {
		total := 0
		for _, e := range efforts(parse(t, "tempo 60\nR1 "+tt.notes+"\n"), hand.Default(), score.Right) {
			total += e.Cost
		}
		if total != tt.want {
			t.Errorf("%s: %d points, want %d", tt.name, total, tt.want)
		}
	}
}
