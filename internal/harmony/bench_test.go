package harmony

import (
	"fmt"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

// long repeats the first tune until it has that many full bars.
func long(b *testing.B, n int) leadsheet.Song {
	one := song(b, tunes[0].meter, tunes[0].key, tunes[0].text)
	out := one
	for len(out.Bars)-1 < n {
		shift := out.End() - one.Bars[1].At
		for _, bar := range one.Bars[1:] {
			bar.At += shift
			out.Bars = append(out.Bars, bar)
		}
		for _, note := range one.Melody[2:] {
			note.At += shift
			out.Melody = append(out.Melody, note)
		}
		for _, c := range one.Chords {
			c.At += shift
			out.Chords = append(out.Chords, c)
		}
	}
	return out
}

func BenchmarkAnalyse(b *testing.B) {
	for _, n := range []int{32, 512} {
		s := long(b, n)
		b.Run(fmt.Sprintf("bars=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Analyse(s)
			}
		})
	}
}

func BenchmarkFits(b *testing.B) {
	s := long(b, 32)
	c := chord(b, "G7")
	b.ReportAllocs()
	for b.Loop() {
		Fits(s, c, 8*theory.Whole, 9*theory.Whole)
	}
}
