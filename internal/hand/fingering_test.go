package hand

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/score"
	"gradatim/theory"
)

// line reads "C4:1 E4+G4:1 r:1 ~C3+E4:2 ^C#5" (pitches and quarters) as strikes.
func line(t testing.TB, text string) []Strike {
	t.Helper()
	var out []Strike
	at := theory.Dur(0)
	for _, tok := range strings.Fields(text) {
		if g, ok := strings.CutPrefix(tok, "^"); ok {
			out = append(out, Strike{At: at, End: at, Keys: []int{key(t, g)}, Grace: true})
			continue
		}
		what, length, _ := strings.Cut(tok, ":")
		var q float64
		if _, err := fmt.Sscan(length, &q); err != nil {
			t.Fatal(err)
		}
		d := theory.Dur(q * float64(theory.Quarter))
		if what != "r" {
			s := Strike{At: at, End: at + d}
			if w, ok := strings.CutPrefix(what, "~"); ok {
				what, s.Rolled = w, true
			}
			for _, k := range strings.Split(what, "+") {
				s.Keys = append(s.Keys, key(t, k))
			}
			slices.Sort(s.Keys)
			out = append(out, s)
		}
		at += d
	}
	return out
}

func fingers(fs []Fingering) string {
	var out []string
	for _, f := range fs {
		var b strings.Builder
		for _, g := range f.Keys {
			fmt.Fprintf(&b, "%d", g)
		}
		out = append(out, b.String())
	}
	return strings.Join(out, " ")
}

// What every teacher writes; common practice, no source.
func TestFingerPlain(t *testing.T) {
	for _, tt := range []struct {
		what string
		hand score.Hand
		text string
		want string
	}{
		{"five fingers", score.Right, "C4:1 D4:1 E4:1 F4:1 G4:1 F4:1 E4:1 D4:1 C4:1", "1 2 3 4 5 4 3 2 1"},
		{"five fingers, left", score.Left, "C3:1 D3:1 E3:1 F3:1 G3:1 F3:1 E3:1 D3:1 C3:1", "5 4 3 2 1 2 3 4 5"},
		{"triad", score.Right, "C4+E4+G4:4", "135"},
		{"first inversion", score.Right, "E4+G4+C5:4", "125"},
		{"second inversion", score.Right, "G4+C5+E5:4", "135"},
		{"triad, left", score.Left, "C3+E3+G3:4", "531"},
		{"first inversion, left", score.Left, "E3+G3+C4:4", "531"},
		{"second inversion, left", score.Left, "G3+C4+E4:4", "521"},
		{"octave", score.Right, "C4+C5:4", "15"},
		{"octave, left", score.Left, "C3+C4:4", "51"},
		{"four notes with the octave", score.Right, "C4+E4+G4+C5:4", "1235"},
		{"seventh chord", score.Right, "C4+E4+G4+B4:4", "1235"},
		{"broken triad", score.Left, "C3:1 E3+G3:1 C3:1 E3+G3:1", "5 31 5 31"},
		{"Alberti bass", score.Left, "C3:0.5 G3:0.5 E3:0.5 G3:0.5 C3:0.5 G3:0.5 E3:0.5 G3:0.5", "5 1 3 1 5 1 3 1"},
		{"repeated note", score.Right, "C4:1 E4:1 E4:1 E4:1 G4:1", "1 3 3 3 5"},
		{"rolled tenth", score.Left, "~C3+E4:4", "51"},
		{"slide from black to white", score.Right, "C5:1 ^D#5 E5:1 G5:2", "1 3 3 5"},
		{"crush between white keys", score.Right, "C5:1 ^D5 E5:1 G5:2", "1 2 3 5"},
		{"one octave of C", score.Right, "C4:1 D4:1 E4:1 F4:1 G4:1 A4:1 B4:1 C5:1", "1 2 3 1 2 3 4 5"},
		{"one octave of C, left", score.Left, "C3:1 D3:1 E3:1 F3:1 G3:1 A3:1 B3:1 C4:1", "5 4 3 2 1 3 2 1"},
		{"octaves in the bass", score.Left, "C2+C3:1 D2+D3:1 E2+E3:1 F2+F3:1", "51 51 51 51"},
		{"stride", score.Left, "C2:1 G3+C4+E4:1 G2:1 G3+C4+E4:1", "5 521 5 521"},
	} {
		got := fingers(Finger(Default(), tt.hand, line(t, tt.text)))
		if got != tt.want {
			t.Errorf("%s: %s: %s, want %s", tt.what, tt.text, got, tt.want)
		}
	}
}

// A held note keeps its finger while the same hand plays on, and a melody note
// that must be held while the hand moves on changes its finger silently.
func TestFingerHeld(t *testing.T) {
	strikes := line(t, "E5:1 D4:1 E4:1 F4:1")
	strikes[0].End = theory.Whole
	strikes[0].Keys = []int{key(t, "A4")}
	for i := 1; i < 4; i++ {
		strikes[i].Held = []int{key(t, "A4")}
	}
	got := Finger(Default(), score.Right, strikes)
	for i, f := range got[1:] {
		if f.Held[0] != got[0].Keys[0] {
			t.Errorf("strike %d: %v beside %v", i+1, f, got[0])
		}
		if f.Keys[0] >= f.Held[0] {
			t.Errorf("strike %d: %d below %d", i+1, f.Keys[0], f.Held[0])
		}
	}
	// Struck by the thumb of necessity, then held above four more notes.
	change := []Strike{
		{At: 0, End: 4, Keys: keys(t, "C4 D4 E4 F4 G4")},
		{At: 1, End: 2, Keys: keys(t, "A3"), Held: keys(t, "C4 G4")},
		{At: 2, End: 3, Keys: keys(t, "F3 G3 A3"), Held: keys(t, "C4")},
	}
	fs := Finger(Profile{Right: 220 * Millimetre, Left: 220 * Millimetre}, score.Right, change)
	if fs[0].Keys[0] != 1 || fs[2].Held[0] == 1 || fs[2].Held[0] == 0 {
		t.Errorf("no silent change: %v", fs)
	}
}

func TestFingerQuick(t *testing.T) {
	strikes := line(t, "E4:0.125 E4:0.125 E4:0.125 E4:0.125 E4:0.125 E4:0.125")
	slow := Finger(Default(), score.Right, strikes)
	for i := range strikes {
		strikes[i].Quick = i > 0
	}
	quick := Finger(Default(), score.Right, strikes)
	for i := 1; i < len(strikes); i++ {
		if slow[i].Keys[0] != slow[i-1].Keys[0] {
			t.Errorf("slow: %s", fingers(slow))
		}
		if quick[i].Keys[0] == quick[i-1].Keys[0] {
			t.Errorf("quick: %s", fingers(quick))
		}
	}
}

func TestFingerAsked(t *testing.T) {
	strikes := line(t, "C4:1 D4:1 E4:1 F4:1")
	strikes[2].Asked = []uint8{1}
	if got := fingers(Finger(Default(), score.Right, strikes)); !strings.HasPrefix(got[4:], "1") {
		t.Errorf("%s: the third finger was asked to be 1", got)
	}
	// What cannot be asked for is still answered.
	chord := []Strike{{End: 1, Keys: keys(t, "C4 E4 G4"), Asked: []uint8{3, 0, 3}}}
	if got := fingers(Finger(Default(), score.Right, chord)); got != "135" {
		t.Errorf("%s", got)
	}
}

// More than fingers hold, wider than hands are, nothing at all.
func TestFingerBeyond(t *testing.T) {
	if got := Finger(Default(), score.Right, nil); len(got) != 0 {
		t.Errorf("%v", got)
	}
	fs := Finger(Default(), score.Right, []Strike{
		{End: 1, Keys: keys(t, "C4 D4 E4 F4 G4 A4 B4")},
		{At: 1, End: 2, Keys: keys(t, "C3 C6")},
		{At: 2, End: 3},
		{At: 3, End: 4, Keys: keys(t, "C4"), Held: keys(t, "C2 C7 D7 E7 F7 G7 A7")},
	})
	if len(fs) != 4 || len(fs[0].Keys) != 7 || fs[0].Keys[6] != 0 || fs[1].Keys[0] == 0 || len(fs[2].Keys) != 0 || fs[3].Keys[0] == 0 {
		t.Errorf("%v", fs)
	}
}

func TestStrain(t *testing.T) {
	p := Default()
	triad, ok := p.Grip(score.Right).Strain(keys(t, "C4 E4 G4"))
	if !ok || triad != 0 {
		t.Errorf("a triad strains by %d, %v", triad, ok)
	}
	ninth, ok := p.Grip(score.Right).Strain(keys(t, "C4 D5"))
	if !ok || ninth <= triad {
		t.Errorf("a ninth strains by %d, %v", ninth, ok)
	}
	if _, ok := p.Grip(score.Right).Strain(keys(t, "C4 E5")); ok {
		t.Error("a tenth is no strain to a hand of a ninth")
	}
	// Where the hand reaches there are fingers, and the other way round.
	for lo := 48; lo < 60; lo++ {
		for mask := 0; mask < 1<<16; mask += 37 {
			ks := []int{lo}
			for b := range 16 {
				if mask>>b&1 == 1 {
					ks = append(ks, lo+b+1)
				}
			}
			_, ok := p.Grip(score.Left).Strain(ks)
			if ok != p.Reaches(score.Left, ks) {
				t.Fatalf("%v: reached %v, fingered %v", ks, !ok, ok)
			}
		}
	}
}

// admissible is the hard test: fingers in the order of the keys, none twice at
// once, no pair beyond what it spans, held notes kept; between single joined
// notes no pair beyond its practical span where another finger does better, and
// no finger on two keys in a row but for a slide.
func admissible(t *testing.T, name string, p Profile, h score.Hand, strikes []Strike, fs []Fingering) (bad int) {
	t.Helper()
	f := newFingerer(p, h, standard)
	for i, s := range strikes {
		type kf struct {
			key int
			f   uint8
		}
		if !p.Reaches(h, s.Keys) && !s.Rolled {
			continue // nothing is admissible here
		}
		var down []kf
		for j, k := range s.Keys {
			down = append(down, kf{k, fs[i].Keys[j]})
		}
		for j, k := range s.Held {
			if fs[i].Held[j] != 0 {
				down = append(down, kf{k, fs[i].Held[j]})
			}
		}
		for a := range down {
			for b := range down {
				x, y := down[a], down[b]
				if x.key >= y.key {
					continue
				}
				lo, hi := x.f, y.f
				if h == score.Left {
					lo, hi = hi, lo
				}
				if lo == 0 || hi == 0 || lo >= hi {
					t.Errorf("%s: strike %d: keys %v held %v: fingers %v out of order", name, i, s.Keys, s.Held, fs[i])
					bad++
				} else if !s.Rolled && Distance(x.key, y.key) > f.reach[lo][hi] {
					t.Errorf("%s: strike %d: keys %v: fingers %d-%d span %s", name, i, s.Keys, lo, hi, Distance(x.key, y.key))
					bad++
				}
			}
		}
		if i == 0 || len(s.Keys) != 1 || len(strikes[i-1].Keys) != 1 || len(s.Held)+len(strikes[i-1].Held) > 0 || strikes[i-1].End < s.At {
			continue
		}
		a, b := int(fs[i-1].Keys[0]), int(fs[i].Keys[0])
		k, l := strikes[i-1].Keys[0], s.Keys[0]
		d := f.way(k, l)
		if a == b {
			if k != l && !(strikes[i-1].Grace && Black(k)) && d <= f.spans[1][5].MaxPrac && d >= -f.spans[1][5].MaxPrac {
				t.Errorf("%s: strike %d: finger %d on %d and then on %d", name, i, a, k, l)
				bad++
			}
			continue
		}
		if a > b {
			a, b, d = b, a, -d
		}
		if d > f.spans[a][b].MaxPrac && d <= f.spans[1][5].MaxPrac {
			t.Errorf("%s: strike %d: fingers %d-%d over %d twelfths", name, i, a, b, d)
			bad++
		}
	}
	return bad
}

func TestAdmissible(t *testing.T) {
	p := Profile{Right: modelSpan, Left: modelSpan}
	for _, e := range manual(t) {
		admissible(t, e.set+" "+e.name, p, e.hand, e.strikes(), Finger(p, e.hand, e.strikes()))
	}
	for _, s := range printedStaves(t) {
		admissible(t, s.name, p, s.hand, s.strikes, Finger(p, s.hand, s.strikes))
	}
}

func TestFingerIsPure(t *testing.T) {
	for _, s := range printedStaves(t)[:10] {
		before := fmt.Sprint(s.strikes)
		a := fmt.Sprint(Finger(Default(), s.hand, s.strikes))
		if b := fmt.Sprint(Finger(Default(), s.hand, s.strikes)); a != b {
			t.Errorf("%s: two runs differ", s.name)
		}
		if fmt.Sprint(s.strikes) != before {
			t.Errorf("%s: the strikes were changed", s.name)
		}
	}
}

// dense is two-handed music of the given number of bars: block chords, a run,
// stride.
func dense(t testing.TB, bars int) (right, left []Strike) {
	r := "E4+G4+A4+C5:1 E4+G4+A4+C5:1 C5+E5+G5:1 C5+E5+G5:1 C5+D5+F5+A5:1 C5+D5+F5+A5:1 G5:0.25 F5:0.25 E5:0.25 D5:0.25 C5:0.25 B4:0.25 A4:0.25 G4:0.25"
	l := "~C2+E3:1 G3+A3+D4:1 G1+G2:1 A3+D4:1 ~F2+A3:1 C4+D4+G4:1 C2+C3:1 E3+A3+D4:1"
	right, left = line(t, strings.Repeat(r+" ", bars/2)), line(t, strings.Repeat(l+" ", bars/2))
	return right, left
}

func BenchmarkFinger(b *testing.B) {
	for _, bars := range []int{32, 128, 512} {
		right, left := dense(b, bars)
		b.Run(fmt.Sprintf("bars=%d/strikes=%d", bars, len(right)+len(left)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Finger(Default(), score.Right, right)
				Finger(Default(), score.Left, left)
			}
		})
	}
}
