package harmony

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// bare takes the chords off.
func bare(s leadsheet.Song) leadsheet.Song {
	s.Chords = nil
	return s
}

// agreement is the share, in percent of the time that both sound, of equal roots
// and of equal functions (tonic, subdominant, dominant) in two analyses.
func agreement(s leadsheet.Song, a, b []Span) (roots, sounding theory.Dur) {
	cut := theory.Eighth
	for at := theory.Dur(0); at < s.End(); at += cut {
		i, j := spanIndex(a, at), spanIndex(b, at)
		if i < 0 || j < 0 || !a[i].Sounding() || !b[j].Sounding() {
			continue
		}
		sounding += cut
		if a[i].Chord.Root.Class() == b[j].Chord.Root.Class() {
			roots += cut
		}
	}
	return roots, sounding
}

func TestHarmoniseTunes(t *testing.T) {
	for _, tt := range tunes {
		s := song(t, tt.meter, tt.key, tt.text)
		got, err := Harmonise(bare(s))
		if err != nil {
			t.Fatal(err)
		}
		roots, all := agreement(s, spans(s), spans(got))
		t.Logf("%s: %d %% of roots as printed", tt.name, 100*roots/all)
		if 100*roots/all < 40 {
			t.Errorf("%s: only %d %% of roots as printed: %s", tt.name, 100*roots/all, chordLine(got))
		}
		// What holds for any tune: tonic at both ends, and every chord carries its melody.
		a := Analyse(got)
		first, last := a.Spans[0], a.Spans[len(a.Spans)-1]
		if !first.Sounding() {
			first = a.Spans[1]
		}
		if !home(first) || !home(last) {
			t.Errorf("%s: begins on %s, ends on %s", tt.name, first.Chord, last.Chord)
		}
		for _, sp := range a.Spans {
			if f := FitsSpan(got, sp); sp.Sounding() && f.Verdict == Refused {
				t.Errorf("%s at %s: %s", tt.name, where(got, sp.At), f)
			}
		}
	}
}

func chordLine(s leadsheet.Song) string {
	var w []string
	for _, c := range s.Chords {
		w = append(w, where(s, c.At)+" "+c.Text)
	}
	return strings.Join(w, ", ")
}

func TestHarmoniseSays(t *testing.T) {
	s := song(t, "4/4", "C", "C4:1/4 E4:1/4 G4:1/2 | A4:1/2 F4:1/2 | G4:1/4 F4:1/4 D4:1/2 | C4:1")
	s.Problems = make(leadsheet.Problems, 0, 4)
	got, err := Harmonise(s)
	if err != nil || len(got.Problems) != 1 || got.Problems[0].Code != "chords-made" || got.Problems[0].Severity != leadsheet.Info {
		t.Errorf("%v %v", err, got.Problems)
	}
	if got := chordLine(got); got != "1:1 C, 2:1 F, 3:1 G7, 4:1 C" {
		t.Error(got)
	}
	if len(s.Problems) != 0 || len(s.Chords) != 0 {
		t.Error("the song given was changed")
	}
	again, err := Harmonise(got)
	if err != nil || fmt.Sprint(again) != fmt.Sprint(got) {
		t.Error("a song with chords is changed")
	}
	var ps leadsheet.Problems
	if _, err := Harmonise(leadsheet.Song{}); !errors.As(err, &ps) || ps[0].Code != "melody-missing" {
		t.Errorf("no melody: %v", err)
	}
}

// A pick-up stays bare, in every mode and metre the chords come from the key.
func TestHarmoniseModes(t *testing.T) {
	for _, meter := range []string{"2/4", "3/4", "4/4", "2/2", "6/8", "9/8", "12/8", "3/2", "6/4"} {
		for m := theory.Major; m <= theory.Locrian; m++ {
			k := theory.Key{Tonic: theory.Name{Letter: theory.D}, Mode: m}
			scale := k.Scale()
			s := song(t, meter, "D", "D4:1/8 | r:1")
			bar := s.Meter.Bar()
			s.Key, s.Bars, s.Melody = k, s.Bars[:1], s.Melody[:1]
			at := s.Bars[0].Dur
			for i := range 8 {
				s.Bars = append(s.Bars, leadsheet.Bar{At: at, Dur: bar, Meter: s.Meter, Key: k, Number: i + 1, Written: i + 1})
				s.Melody = append(s.Melody, leadsheet.Note{At: at, Dur: bar, Pitch: scale[[...]int{0, 4, 3, 4, 2, 3, 4, 0}[i]].At(4)})
				at += bar
			}
			s.Bars[0].Key = k
			got, err := Harmonise(s)
			if err != nil {
				t.Fatal(err)
			}
			if got.Chords[0].At != s.Bars[1].At {
				t.Errorf("%s %s: first chord at %s", meter, k, where(s, got.Chords[0].At))
			}
			for _, c := range got.Chords {
				if !inKey(k, c.Chord) {
					t.Errorf("%s %s: %s is not in the key", meter, k, c.Text)
				}
			}
		}
	}
}
