package audit

import (
	"fmt"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// long repeats two bars of stride with block chords and a run until the piece
// has the given number of bars.
func long(t testing.TB, bars int) (score.Score, leadsheet.Song) {
	t.Helper()
	two := sheet{
		tempo: 120, chords: "C6/9:2 C13:2 F6/9:2 C6/9:2", tune: "C:4 F:2 C:2",
		melody: "C4:1 C4:1 G4:1 G4:1 A4:1 A4:1 G4:2",
		rh:     []string{"E4+G4+A4+C5:1 E4+G4+A4+C5:1 C5+E5+G5:1 C5+E5+G5:1 C5+D5+F5+A5:1 C5+D5+F5+A5:1 G5:1 G5:0.25 E5:0.25 D5:0.25 E5:0.25"},
		lh:     []string{"~C2+E3:1 G3+A3+D4:1 G1+G2:1 Bb3+D4+A4:1 ~F2+A3:1 C4+D4+G4:1 C2+C3:1 E3+A3+D4:1"},
	}
	s, opt := two.score(t)
	out, song := s, *opt.Song
	for n := 1; n < bars/2; n++ {
		by := theory.Dur(2*n) * theory.Whole
		for _, b := range s.Bars {
			b.At, b.Number = b.At+by, b.Number+2*n
			out.Bars = append(out.Bars, b)
		}
		for _, x := range s.Notes {
			x.At, x.ID = x.At+by, ""
			out.Notes = append(out.Notes, x)
		}
		for _, c := range s.Chords {
			c.At += by
			out.Chords = append(out.Chords, c)
		}
		for _, b := range opt.Song.Bars {
			b.At, b.Number = b.At+by, b.Number+2*n
			song.Bars = append(song.Bars, b)
		}
		for _, x := range opt.Song.Melody {
			x.At += by
			song.Melody = append(song.Melody, x)
		}
		for _, c := range opt.Song.Chords {
			c.At += by
			song.Chords = append(song.Chords, c)
		}
	}
	return out.Finish(), song
}

func BenchmarkCheck(b *testing.B) {
	for _, bars := range []int{32, 128, 512} {
		s, song := long(b, bars)
		if vs := Check(s, Options{Song: &song}); len(vs) > 0 {
			b.Fatalf("the piece does not stand:%s", lines(vs))
		}
		b.Run(fmt.Sprintf("bars=%d/notes=%d", bars, len(s.Notes)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Check(s, Options{Song: &song})
			}
		})
	}
}
