package hand

import (
	"slices"
	"strconv"
	"testing"

	"gradatim/score"
)

func profile(t testing.TB, s string) Profile {
	t.Helper()
	p, err := ParseProfile(s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestReaches(t *testing.T) {
	for _, tt := range []struct {
		profile string
		hand    score.Hand
		keys    string
		want    bool
	}{
		// A named profile plays that very interval on white keys.
		{"octave", score.Left, "C3 C4", true},
		{"octave", score.Right, "F#4 F#5", true},
		{"octave", score.Left, "C3 D4", false},
		{"ninth", score.Left, "C3 D4", true},
		{"ninth", score.Left, "A2 B3", true},
		{"ninth", score.Left, "Db3 Eb4", false}, // 191.9 mm
		{"ninth", score.Left, "C3 E4", false},
		{"tenth", score.Left, "C3 E4", true},
		{"tenth", score.Right, "F3 A4", true},
		{"tenth", score.Left, "Db3 F4", false}, // 226.2 mm
		{"231mm", score.Left, "Db3 F4", true},
		{"230mm", score.Left, "Db3 F4", false},
		// Shells, close chords, four and five notes.
		{"ninth", score.Left, "E3 D4", true},
		{"ninth", score.Right, "E4 G4 A4 C5", true},
		{"ninth", score.Right, "C4 D4 E4 F4 G4", true},
		{"ninth", score.Right, "C4 E4 G4 Bb4 C5", true},
		{"ninth", score.Right, "C4 D4 E4 F4 G4 A4", false},
		// Nobody spreads 2, 3, 4 and 5 over an octave's inside like this.
		{"ninth", score.Right, "C4 C5 D5", true},
		{"octave", score.Right, "C4 C5", true},
		{"octave", score.Right, "C4 F4 G4 A4 C5", true},
		{"octave", score.Right, "C4 D4 A4 B4 C5", false}, // 2–3 over a fifth
		{"ninth", score.Right, "", true},
		{"ninth", score.Right, "C4", true},
		{"ninth", score.Right, "C4 C4 C5", true}, // a key named twice is one key
	} {
		ks := keys(t, tt.keys)
		before := slices.Clone(ks)
		if got := profile(t, tt.profile).Reaches(tt.hand, ks); got != tt.want {
			t.Errorf("%s hand, %s: %s: %v, want %v", tt.hand, tt.profile, tt.keys, got, tt.want)
		}
		if !slices.Equal(before, ks) {
			t.Errorf("%s: the argument was changed", tt.keys)
		}
	}
}

// Left and right hands mirror each other: what the right reaches upwards the
// left reaches downwards over keys that lie as far apart.
func TestHandsMirror(t *testing.T) {
	p := Default()
	for _, s := range []string{"C4 E4 G4 C5", "C4 D4 A4 B4 C5", "D4 F4 A4 C5 D5"} {
		r := keys(t, s)
		var l []int
		for _, k := range r {
			l = append(l, 2*62-k) // the keyboard is its own mirror image about D4
		}
		if a, b := p.Reaches(score.Right, r), p.Reaches(score.Left, l); a != b {
			t.Errorf("%s: right %v, mirrored left %v", s, a, b)
		}
	}
}

// What can be rolled: common practice, no source.
func TestRolls(t *testing.T) {
	for _, tt := range []struct {
		profile, keys string
		want          bool
	}{
		{"octave", "C2 E3", true},
		{"octave", "Db2 F3", true}, // the widest tenth
		{"octave", "C2 F3", false},
		{"ninth", "C2 G2 E3", true},
		{"ninth", "C2 G2 E3 B3", false}, // G–B stays and is a tenth
		{"ninth", "C2 C4", false},
		{"octave", "C2 G2 D3 G3", true},
		{"octave", "C2 D2 E2 F2 G2 A2", false},
	} {
		if got := profile(t, tt.profile).Rolls(score.Left, keys(t, tt.keys)); got != tt.want {
			t.Errorf("%s, rolled %s: %v, want %v", tt.profile, tt.keys, got, tt.want)
		}
	}
}

// Source: tables/hand_span_thresholds.tsv, partly Boyle, Boyle and Booker 2015
// (8.5 in as the small-hand cut-off), partly derived from it.
func TestSpanThresholds(t *testing.T) {
	inch := func(thousandths Length) Length { return Inch * thousandths / 1000 }
	for _, tt := range []struct {
		what        string
		span        Length
		keys        string
		reaches     bool
		comfortable bool
	}{
		{"octave playable", inch(6650), "C4 C5", true, false},
		{"just under", inch(6600), "C4 C5", false, false},
		{"octave comfortable", inch(7500), "C4 C5", true, true},
		{"just under", inch(7400), "C4 C5", true, false},
		{"ninth playable", inch(7560), "C4 D5", true, false},
		{"white tenth at the edge", inch(8500), "C3 E4", true, false},
		{"just under", inch(8450), "C3 E4", false, false},
		{"tenth on mixed keys", inch(9070), "Db3 F4", true, false},
		{"white tenth comfortable", inch(9320), "C3 E4", true, true},
	} {
		p := Profile{Right: tt.span, Left: tt.span}
		ks := keys(t, tt.keys)
		if r, c := p.Reaches(score.Left, ks), p.Comfortable(score.Left, ks); r != tt.reaches || c != tt.comfortable {
			t.Errorf("%s (%s), %s: reaches %v, comfortable %v", tt.what, tt.span, tt.keys, r, c)
		}
	}
}

// Source: Parncutt et al. 1997, as transcribed in tables/finger_spans.tsv.
func TestPairSpans(t *testing.T) {
	seen := 0
	for _, r := range rows(t, "tables/finger_spans.tsv") {
		f, g := int(r[0][0]-'0'), int(r[0][2]-'0')
		var n [6]int
		for i := range n {
			v, err := strconv.Atoi(r[i+1])
			if err != nil {
				t.Fatal(err)
			}
			n[i] = v
		}
		if want := (pairSpan{n[0], n[1], n[2], n[3], n[4], n[5]}); pairSpans[f][g] != want {
			t.Errorf("%d-%d: %v, the table says %v", f, g, pairSpans[f][g], want)
		}
		seen++
	}
	if seen != 10 {
		t.Errorf("%d pairs, want 10", seen)
	}
	for f := 1; f <= 4; f++ {
		for g := f + 1; g <= 5; g++ {
			s := pairSpans[f][g]
			if !slices.IsSorted([]int{s.MinPrac, s.MinComf, s.MinRel, s.MaxRel, s.MaxComf, s.MaxPrac}) {
				t.Errorf("%d-%d: limits out of order: %v", f, g, s)
			}
		}
	}
}

// How far a hand gets in which time: common practice, no source.
func TestJump(t *testing.T) {
	reach := Default().Reach(score.Left)
	for _, tt := range []struct {
		from, to string
		ms       Micros
		want     bool
	}{
		{"C3", "D4", 1, true},          // within the hand: no jump
		{"C2", "C4 E4 G4", 400, true},  // two octaves
		{"C2", "C4 E4 G4", 390, false}, //
		{"C2", "G3 B3 D4", 300, true},  // octave and fifth
		{"C2", "G3 B3 D4", 290, false},
		{"Db2", "Db4 F4 Ab4", 400, false}, // lands on black
		{"Db2", "Db4 F4 Ab4", 480, true},
		{"C2 E3", "G3 A3 D4", 200, true}, // from the tenth's upper note
		{"C1", "C6", 1200, true},
		{"C1", "C6", 900, false},
	} {
		if got := Jump(reach, keys(t, tt.from), keys(t, tt.to), tt.ms*1000); got != tt.want {
			t.Errorf("%s to %s in %d ms: %v, want %v", tt.from, tt.to, tt.ms, got, tt.want)
		}
	}
}

func TestLeaps(t *testing.T) {
	reach := Default().Reach(score.Left)
	from, to := keys(t, "C2"), keys(t, "C4 E4 G4")
	for _, tt := range []struct {
		ms         Micros
		jump, leap bool
	}{{400, true, true}, {390, false, true}, {300, false, true}, {290, false, false}} {
		if j, l := Jump(reach, from, to, tt.ms*1000), Leaps(reach, from, to, tt.ms*1000); j != tt.jump || l != tt.leap {
			t.Errorf("two octaves in %d ms: jump %v, leap %v", tt.ms, j, l)
		}
	}
}

func TestFarthestGrows(t *testing.T) {
	for ms := Micros(1); ms < 3000; ms++ {
		a, b := Farthest((ms-1)*1000, false), Farthest(ms*1000, false)
		if b < a {
			t.Fatalf("less far in %d ms than in a shorter time", ms)
		}
		if Farthest(ms*1000, true) > b {
			t.Fatalf("a black key is nearer at %d ms", ms)
		}
	}
}

// How fast a key or a chord can be repeated: common practice, no source.
func TestRepeats(t *testing.T) {
	for _, tt := range []struct {
		t     Micros
		chord bool
		want  bool
	}{
		{Second / 12, false, true}, {Second/12 - 1, false, false},
		{Second / 9, true, true}, {Second/9 - 1, true, false}, {Second / 11, false, true},
	} {
		if got := Repeats(tt.t, tt.chord); got != tt.want {
			t.Errorf("%d µs, chord %v: %v", tt.t, tt.chord, got)
		}
	}
}
