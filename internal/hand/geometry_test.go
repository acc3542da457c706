package hand

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

// rows reads a tab-separated table without its heading.
func rows(t testing.TB, path string) [][]string {
	t.Helper()
	data, err := os.ReadFile(sharedtest.Path(t, path))
	if err != nil {
		t.Fatal(err)
	}
	var out [][]string
	for _, line := range strings.Split(strings.TrimRight(string(data), "\n"), "\n")[1:] {
		out = append(out, strings.Split(strings.TrimRight(line, "\r"), "\t"))
	}
	if len(out) == 0 {
		t.Fatalf("%s has no rows", path)
	}
	return out
}

// Some rows of the table of centre distances, kept here so that the check stands
// without the shared tables; their source stands below.
func TestDistance(t *testing.T) {
	for _, tt := range []struct {
		low, high string
		want      Length
	}{
		{"C3", "C4", 16450}, {"F#2", "F#3", 16450},
		{"C3", "D4", 18800}, {"Db3", "Eb4", 19191}, {"Eb3", "F4", 19877},
		{"C3", "E4", 21150}, {"F3", "A4", 21150}, {"G2", "B3", 21150},
		{"Db3", "F4", 22618}, {"D3", "F#4", 21835}, {"Bb2", "D4", 22031}, {"B2", "D#4", 22422},
		{"C4", "C4", 0}, {"C4", "Db4", 881},
	} {
		if got := Distance(key(t, tt.low), key(t, tt.high)); got != tt.want {
			t.Errorf("%s–%s: %d hundredths of a millimetre, want %d", tt.low, tt.high, got, tt.want)
		}
		if a, b := Distance(key(t, tt.low), key(t, tt.high)), Distance(key(t, tt.high), key(t, tt.low)); a != b {
			t.Errorf("%s–%s is not symmetric", tt.low, tt.high)
		}
	}
}

// Source: tables/stretch_mm.tsv, derived from octave 164.5 mm and the published
// key widths 23.5 and 13.7 mm.
func TestDistanceTable(t *testing.T) {
	for _, r := range rows(t, "tables/stretch_mm.tsv") {
		low, err := theory.ParseName(r[1])
		if err != nil {
			t.Fatal(err)
		}
		semis, err := strconv.Atoi(r[3])
		if err != nil {
			t.Fatal(err)
		}
		k := low.At(3).MIDI()
		if got := strings.TrimSuffix(Distance(k, k+semis).String(), " mm"); got != r[4] {
			t.Errorf("%s %s–%s: %s mm, the table says %s", r[0], r[1], r[2], got, r[4])
		}
	}
}

// Keys rise to the right, every key is reached by its own finger, and the
// keyboard of 88 keys is seven octaves and two white keys from the first centre to the
// last: 1.20 m by the widths below.
func TestPositionRises(t *testing.T) {
	for k := LowestKey; k < HighestKey; k++ {
		if Position(k) >= Position(k+1) {
			t.Errorf("key %d is not left of key %d", k, k+1)
		}
	}
	if d := Distance(LowestKey, HighestKey); d != 7*Octave+2*WhiteKey {
		t.Errorf("A0 to C8 is %s", d)
	}
	for k := -30; k < 130; k++ {
		if Position(k+12)-Position(k) != Octave {
			t.Errorf("the octave on %d is %s", k, Position(k+12)-Position(k))
		}
	}
}

// Worked out from the octave and the key widths of tables/stretch_mm.tsv.
func TestTwelfths(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{
		{"C4", "C5", 12}, {"C5", "C4", -12}, {"C4", "C4", 0}, {"D4", "G4", 5}, {"G4", "D4", -5},
		{"C4", "E4", 3}, // two white keys, 47 mm: nearer three twelfths than four
		{"E4", "F4", 2}, {"C4", "Db4", 1},
	} {
		if got := Twelfths(key(t, tt.a), key(t, tt.b)); got != tt.want {
			t.Errorf("%s–%s: %d twelfths, want %d", tt.a, tt.b, got, tt.want)
		}
	}
}

func TestLengthString(t *testing.T) {
	for l, want := range map[Length]string{16450: "164.5 mm", 19192: "191.9 mm", 19195: "192.0 mm", 4: "0.0 mm", -1370: "-13.7 mm"} {
		if got := l.String(); got != want {
			t.Errorf("%d: %q, want %q", int(l), got, want)
		}
	}
}

func key(t testing.TB, s string) int {
	t.Helper()
	p, err := theory.ParsePitch(s)
	if err != nil {
		t.Fatal(err)
	}
	return p.MIDI()
}

func keys(t testing.TB, s string) []int {
	t.Helper()
	var out []int
	for _, f := range strings.Fields(s) {
		out = append(out, key(t, f))
	}
	return out
}
