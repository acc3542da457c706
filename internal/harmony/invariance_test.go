package harmony

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// What a song is does not hang on when it begins, on the note values it is written in, or
// on its key. Facts: a piece in 4/2 with every value doubled is the same piece.

// reading is a song as it is read, with no position, pitch or key in it.
func reading(s leadsheet.Song) string {
	var b strings.Builder
	one := s.Bars[0].At
	unit := s.Meter.BeatDur()
	at := func(d theory.Dur) string { return fmt.Sprintf("%d/%d", (d-one)*48/unit, 48) }
	a := Analyse(s)
	for _, r := range a.Regions {
		fmt.Fprintf(&b, "region %d %d %s %s\n", r.First, r.Last, r.Key.Mode, r.Estimate.Mode)
	}
	for _, p := range a.Phrases {
		fmt.Fprintf(&b, "phrase %d %d %d %d %s %d %d\n", p.First, p.Last, p.From, p.To, p.Cadence, p.Goal, p.Rhythm*48/unit)
	}
	for i, sp := range a.Spans {
		next := Span{}
		if i+1 < len(a.Spans) {
			next = a.Spans[i+1]
		}
		f := FitsSpan(s, sp)
		c := Tensions(sp, next, nil)
		fmt.Fprintf(&b, "span %s %s %s %v %v %v %s %d %v\n", at(sp.At), at(sp.End), sp.Function, sp.Resolves, sp.Line, sp.Mark, f.Verdict, f.Cost, c.Available())
		for _, n := range f.Notes {
			fmt.Fprintf(&b, "  %d %s %v %v %s %s\n", n.Note, n.Degree, n.In, n.Exposed, n.Verdict, n.Why)
		}
	}
	for _, r := range a.Roles {
		fmt.Fprintf(&b, "role %s %s %d %d %d\n", r.Kind, r.Degree, r.Span, r.Suspended, r.Weight)
	}
	for _, g := range a.Gaps {
		fmt.Fprintf(&b, "gap %s %s %d %v %v\n", at(g.At), at(g.End), g.After, g.Held, g.PhraseEnd)
	}
	fmt.Fprintf(&b, "twelve bars: %v\n", a.TwelveBar(s))
	return b.String()
}

// timed moves every position of a song by shift and stretches everything by factor.
func timed(s leadsheet.Song, shift, factor theory.Dur) leadsheet.Song {
	m := func(at theory.Dur) theory.Dur { return shift + at*factor }
	s.Meter.Unit /= int(factor)
	s.Bars, s.Melody, s.Chords = slices.Clone(s.Bars), slices.Clone(s.Melody), slices.Clone(s.Chords)
	for i := range s.Bars {
		b := &s.Bars[i]
		b.At, b.Dur, b.Meter.Unit = m(b.At), b.Dur*factor, b.Meter.Unit/int(factor)
	}
	for i := range s.Melody {
		n := &s.Melody[i]
		n.At, n.Dur = m(n.At), n.Dur*factor
	}
	for i := range s.Chords {
		s.Chords[i].At = m(s.Chords[i].At)
	}
	return s
}

// moved transposes a song.
func moved(s leadsheet.Song, iv theory.Interval) leadsheet.Song {
	s.Key = s.Key.Transpose(iv)
	s.Bars, s.Melody, s.Chords = slices.Clone(s.Bars), slices.Clone(s.Melody), slices.Clone(s.Chords)
	for i := range s.Bars {
		s.Bars[i].Key = s.Bars[i].Key.Transpose(iv)
	}
	for i := range s.Melody {
		s.Melody[i].Pitch = s.Melody[i].Pitch.Up(iv)
	}
	for i := range s.Chords {
		if c := &s.Chords[i]; !c.Unknown && !c.Chord.Silent() {
			c.Chord = c.Chord.Transpose(iv)
		}
	}
	return s
}

// oddities are songs in which there is more than a plain tune has.
var oddities = []struct{ meter, key, text string }{
	{"4/4", "C", `r:3/4 G4:1/4 | [C] C5:1/4 B4:1/4 [C/E] A4:1/4 G4:1/4 | [F] A4:1/2~ [G7] A4:1/4 G4:1/4 | [C] E4:1/4 [C#dim7] E4:1/4 [Dm7] F4:1/2 | [G7sus4] C5:1/2~ [C] C5:1/4 G4:1/4 |
		[Cmaj7] C5:1/4 B4:1/4 A4:1/4 G4:1/4 | [Fm7] Ab4:1/2 [Bb7] F4:1/4 G4:1/4 | [Em7] E4:1/4 [Eb7] G4:1/4 [Dm7] F4:1/4 [Db7] Ab4:1/4 | [C] G4:1`},
	{"3/4", "Am", `E4:1/4 | [Am] A4:1/4 B4:1/4 C5:1/4 | [Dm] D5:1/2 E5:1/8 F5:1/8 | [E7] G#4:1/4 B4:1/8 A4:1/8 G#4:1/4 | [Am] A4:1/2 E4:1/4 |
		[Am/G] C5:1/4 B4:1/4 A4:1/4 | [F] F4:1/2 A4:1/4 | [Bm7b5] D5:1/4 [E7] B4:1/2 | [F] A4:3/4 | K=A [A] E4:1/4 A4:1/4 C#5:1/4 | [D] D5:1/2 F#5:1/4 | [E7] E5:1/4 D5:1/4 B4:1/4 | [A] A4:3/4`},
	{"2/4", "G dorian", `[Gm] G4:1/8 A4:1/8 Bb4:1/8 G4:1/8 | [C] E4:1/4 G4:1/4 | [NC] r:1/2 | [F] A4:1/8 C5:1/8 A4:1/8 F4:1/8 | [Gm] G4:1/2 | {B} [Gm] D5:3/8 C5:1/8 | [F] A4:1/2 | [H?] C5:1/4 E5:1/4 | [Gm] D5:1/4 Bb4:1/4 | [Gm] G4:1/2`},
	{"12/8", "F", `[F7] C5:3/8 A4:1/4 F4:1/8 Ab4:3/8 F4:3/8 | [Bb7] D5:3/4 Ab4:3/4 | [F7] C5:3/4 r:3/4 | [F7] A4:3/2 | [Bb7] D5:3/8 Bb4:1/4 F4:1/8 Ab4:3/8 F4:3/8 | [Bb7] D5:3/2 | [F7] C5:3/4 r:3/4 | [D7] F#4:3/2 | [Gm7] Bb4:3/4 G4:3/4 | [C7] E4:3/4 G4:3/4 | [F7] F4:3/4 [D7] r:3/4 | [Gm7] r:3/4 [C7] r:3/4`},
}

func TestReadingIsTheSame(t *testing.T) {
	type sheet struct{ meter, key, text string }
	var sheets []sheet
	for _, x := range tunes {
		sheets = append(sheets, sheet{x.meter, x.key, x.text})
	}
	for _, x := range oddities {
		sheets = append(sheets, sheet(x))
	}
	for _, x := range sheets {
		s := song(t, x.meter, x.key, x.text)
		want := reading(s)
		for name, other := range map[string]leadsheet.Song{
			"a bar later":         timed(s, s.Meter.Bar(), 1),
			"in values as double": timed(s, 0, 2),
			"a whole step up":     moved(s, theory.Interval{Steps: 1, Semitones: 2}),
			"a fourth up":         moved(s, theory.Interval{Steps: 3, Semitones: 5}),
			"a fifth down":        moved(s, theory.Interval{Steps: -4, Semitones: -7}),
		} {
			if name == "in values as double" && s.Meter.Bar() < 3*theory.Quarter {
				continue // 2/4 gets one chord a bar where 2/2 may have two
			}
			if got := reading(other); got != want {
				a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
				for i := range min(len(a), len(b)) {
					if a[i] != b[i] {
						t.Errorf("%.40s %s: %q became %q", x.text, name, a[i], b[i])
						break
					}
				}
			}
		}
	}
}
