package arrange

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// rhythm builds a tune of one bar and a last note from lengths in sixteenths; a rest is
// negative.
func rhythm(meter leadsheet.Meter, lengths string) leadsheet.Song {
	s := leadsheet.Song{Meter: meter}
	s.Bars = []leadsheet.Bar{{Dur: meter.Bar(), Meter: meter, Number: 1}, {At: meter.Bar(), Dur: meter.Bar(), Meter: meter, Number: 2}}
	at := theory.Dur(0)
	for i, f := range strings.Fields(lengths) {
		var n int
		_, _ = fmt.Sscan(f, &n)
		d := theory.Dur(n) * theory.Sixteenth
		if n > 0 {
			s.Melody = append(s.Melody, leadsheet.Note{At: at, Dur: d, Pitch: theory.Pitch{Name: theory.Name{Letter: theory.Letter(i % 7)}, Octave: 4}})
		}
		at += max(d, -d)
	}
	return s
}

// What easy editions make of short notes (common practice, no source).
func TestEase(t *testing.T) {
	common, six := leadsheet.Meter{Beats: 4, Unit: 4}, leadsheet.Meter{Beats: 6, Unit: 8}
	for _, c := range []struct {
		name      string
		meter     leadsheet.Meter
		from, now string
	}{
		{"dotted pair", common, "3 1 4 4 4", "2 2 4 4 4"},
		{"snap", common, "1 3 4 4 4", "2 2 4 4 4"},
		{"sicilienne", six, "3 1 2 6", "2 2 2 6"},
		{"early by a sixteenth", common, "3 3 2 8", "4 2 2 8"},
		{"short before a rest", common, "4 1 -3 8", "4 2 -2 8"},
		{"short after a rest and before one", common, "-3 1 -4 8", "-4 1 -3 8"},
		{"a run stays", common, "1 1 1 1 4 8", "1 1 1 1 4 8"},
		{"eighths stay", common, "2 4 2 8", "2 4 2 8"},
		{"syncopation in sixteenths", common, "1 2 1 4 8", "2 1 1 4 8"},
		{"short upbeat to the next bar", common, "12 3 1 16", "12 2 2 16"},
	} {
		got, _ := Ease(rhythm(c.meter, c.from), theory.Eighth)
		want := rhythm(c.meter, c.now)
		for i, n := range want.Melody {
			if m := got.Melody[i]; m.At != n.At || m.Dur != n.Dur || m.Pitch.Octave != 4 {
				t.Errorf("%s: note %d at %v for %v, want at %v for %v", c.name, i+1, m.At, m.Dur, n.At, n.Dur)
			}
		}
	}
}

// Whatever the rhythm: pitches, order and bars stay, and no note moves by more than a
// sixteenth.
func FuzzEase(f *testing.F) {
	f.Add([]byte{3, 1, 4, 1, 1, 1, 1, 12, 5, 3, 3, 2})
	f.Add([]byte{3, 3, 3, 3, 4, 1, 2, 1, 200, 3, 1})
	f.Fuzz(func(t *testing.T, lengths []byte) {
		meter := leadsheet.Meter{Beats: 4, Unit: 4}
		s := leadsheet.Song{Meter: meter}
		at := theory.Dur(0)
		for i, l := range lengths[:min(len(lengths), 64)] {
			d := theory.Dur(l%16+1) * theory.Sixteenth
			if l >= 128 { // a third of it, as in a triplet, or a rest
				d /= 3
			}
			if l%5 != 4 {
				s.Melody = append(s.Melody, leadsheet.Note{At: at, Dur: d, Pitch: theory.Pitch{Name: theory.Name{Letter: theory.Letter(i % 7)}, Octave: 4}})
			}
			at += d
		}
		for b := theory.Dur(0); b <= at; b += meter.Bar() {
			s.Bars = append(s.Bars, leadsheet.Bar{At: b, Dur: meter.Bar(), Meter: meter, Number: len(s.Bars) + 1})
		}
		got, _ := Ease(s, theory.Eighth)
		if len(got.Melody) != len(s.Melody) {
			t.Fatalf("%d notes, want %d", len(got.Melody), len(s.Melody))
		}
		for i, n := range got.Melody {
			was := s.Melody[i]
			if d := n.At - was.At; n.Pitch != was.Pitch || d > theory.Sixteenth || -d > theory.Sixteenth || s.BarAt(n.At) != s.BarAt(was.At) || n.Dur < min(was.Dur, theory.Sixteenth/4) {
				t.Fatalf("note %d: %+v, was %+v", i, n, was)
			}
			if i > 0 && got.Melody[i-1].End() > n.At && s.Melody[i-1].End() <= was.At {
				t.Fatalf("note %d begins before the one before it ends", i)
			}
		}
	})
}
