package proof_test

import (
	"fmt"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/proof"
	"gradatim/leadsheet"
)

// long is a sheet again and again until it has so many bars.
func long(song leadsheet.Song, bars int) leadsheet.Song {
	out := song
	for len(out.Bars) < bars {
		shift, written := out.End()-song.Bars[0].At, len(out.Bars)
		for _, b := range song.Bars {
			b.At += shift
			b.Written += written
			b.Number += written
			b.Page = [2]int{}
			out.Bars = append(out.Bars, b)
		}
		for _, n := range song.Melody {
			n.At += shift
			out.Melody = append(out.Melody, n)
		}
		for _, c := range song.Chords {
			c.At += shift
			out.Chords = append(out.Chords, c)
		}
	}
	return out
}

// BenchmarkOf is what reading takes longer for it, the analysis included.
func BenchmarkOf(b *testing.B) {
	all := sheets(b)
	for _, n := range []int{32, 512} {
		song := long(all[len(all)/2].song, n)
		b.Run(fmt.Sprintf("bars=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				proof.Of(song, harmony.Analyse(song))
			}
		})
	}
}
