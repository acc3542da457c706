package perform_test

import (
	"fmt"
	"slices"
	"testing"

	"gradatim/internal/perform"
	"gradatim/score"
	"gradatim/theory"
)

// A roll ends on the beat under a note of the tune and begins on it alone: common
// practice, no source. The limits in milliseconds are ours.
func TestRolledChords(t *testing.T) {
	for _, tempo := range []int{50, 100, 200} {
		p := play(t, fmt.Sprintf(`
tempo %d
R1 r:1/1 E5:1/1 r:1/1
L1 r:1/1 <C3+E4>:1/1*roll <F2+C3+A3+E4>:1/1*roll
`, tempo), perform.Options{Even: true, Click: true})
		roll := func(bar int64) (gaps []float64, first, last float64) {
			var s []float64
			for _, n := range p.Notes {
				if n.Hand == score.Left && n.At == theory.Dur(bar)*theory.Whole {
					s = append(s, n.Start)
				}
			}
			beat := p.Timing.Seconds(theory.Dur(bar)*theory.Whole, 0)
			for i := 1; i < len(s); i++ {
				gaps = append(gaps, s[i]-s[i-1])
			}
			return gaps, s[0] - beat, s[len(s)-1] - beat
		}
		for _, bar := range []int64{1, 2} {
			gaps, first, last := roll(bar)
			for _, g := range gaps {
				if g < 0.025-1e-9 || g > 0.040+1e-9 {
					t.Errorf("tempo %d, bar %d: %.1f ms between notes", tempo, bar+1, g*1000)
				}
			}
			if last-first > 0.12+1e-9 {
				t.Errorf("tempo %d: rolled for %.0f ms", tempo, (last-first)*1000)
			}
			if bar == 1 { // under a note of the tune: top on the beat
				near(t, "top", last, 0, 1e-6)
			} else { // alone: bottom on the beat
				near(t, "bottom", first, 0, 1e-6)
			}
		}
		// The pedal is down before the hand has left the low note.
		if len(p.Pedals) < 2 || p.Pedals[0].Value < 64 {
			t.Fatalf("pedal under rolled tenths: %v", p.Pedals)
		}
	}
}

// Notes of the signs, on the beat, the neighbours taken from the key: as in any table of
// ornaments for the music after 1800; common practice, no source.
func TestOrnaments(t *testing.T) {
	keysOf := func(mark string, length string) (keys []int, starts []float64, end float64) {
		p := play(t, "key F\ntempo 60\nR1 r:1/4 A4:"+length+"*"+mark+" r:1/4", perform.Options{Even: true, Click: true})
		for _, n := range p.Notes {
			keys = append(keys, n.Key)
			starts = append(starts, n.Start-1-perform.Lead)
			end = n.End - 1 - perform.Lead
		}
		return
	}
	for _, tt := range []struct {
		mark string
		want []int
	}{
		{"mordent", []int{69, 68, 69}},
		{"umordent", []int{69, 70, 69}}, // B flat is in the key
		{"turn", []int{70, 69, 68, 69}},
	} {
		keys, starts, end := keysOf(tt.mark, "1/2")
		if !slices.Equal(keys, tt.want) {
			t.Errorf("%s: %v, want %v", tt.mark, keys, tt.want)
		}
		near(t, tt.mark+" on the beat", starts[0], 0, 1e-6)
		if last := starts[len(starts)-1]; last > 0.45 || end < 1.7 {
			t.Errorf("%s: main note from %.2f to %.2f s", tt.mark, last, end)
		}
	}
	keys, starts, _ := keysOf("trill", "1/2")
	if len(keys) < 21 || len(keys)%2 == 0 || keys[0] != 69 || keys[1] != 70 || keys[len(keys)-1] != 69 {
		t.Errorf("trill of %d notes: %v", len(keys), keys)
	}
	if gap := starts[1] - starts[0]; gap < 0.05 || gap > 0.1 {
		t.Errorf("trill: %.0f ms a note", gap*1000)
	}
	if keys, _, _ = keysOf("trem", "1/2"); len(keys) != 16 {
		t.Errorf("tremolo strikes %d times in two seconds, want 16", len(keys))
	}
}

// Crushed and sliding notes come before the beat: common practice, no source.
func TestGraceNotes(t *testing.T) {
	p := play(t, "tempo 90\nR1 C5:1/4 G#4:0*grace A4:1/4 F4:0*grace*slash G4:0*grace*slash A4:1/2", perform.Options{Even: true, Click: true})
	var slide, crushed []float64
	for _, n := range p.Notes {
		off := n.Start - p.Timing.Seconds(n.At, 0)
		if n.At == theory.Quarter && n.Key == 68 {
			slide = append(slide, off)
		}
		if n.At == theory.Half && n.Key != 69 {
			crushed = append(crushed, off)
		}
		if n.Key == 69 {
			near(t, "main note", off, 0, 1e-6)
		}
	}
	if len(slide) != 1 || slide[0] > -0.04 || slide[0] < -0.09 {
		t.Errorf("slide starts %v s from the beat", slide)
	}
	if len(crushed) != 2 || crushed[0] >= crushed[1] || crushed[1] > -0.03 || crushed[1] < -0.06 {
		t.Errorf("crushed notes start %v s from the beat", crushed)
	}
	first := play(t, "tempo 90\nR1 B4:0*grace C5:1/1", perform.Options{Even: true, Click: true})
	if first.Notes[0].Key != 71 || first.Notes[0].Start < perform.Lead || first.Notes[1].Start <= first.Notes[0].Start {
		t.Errorf("a grace note that opens the music: %v", first.Notes)
	}
}
