package perform_test

import (
	"fmt"
	"testing"

	"gradatim/internal/perform"
	"gradatim/internal/scoretest"
	"gradatim/theory"
)

func BenchmarkPerform(b *testing.B) {
	for _, bars := range []int{32, 512} {
		s := scoretest.MustParse(tune)
		whole := s
		for n := 4; n < bars; n += 4 {
			by := theory.Dur(n) * theory.Whole
			for _, x := range s.Bars {
				x.At += by
				x.Number += n
				whole.Bars = append(whole.Bars, x)
			}
			for _, x := range s.Notes {
				x.At += by
				x.ID = ""
				whole.Notes = append(whole.Notes, x)
			}
			for _, x := range s.Chords {
				x.At += by
				whole.Chords = append(whole.Chords, x)
			}
		}
		whole = whole.Finish()
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := perform.Perform(whole, perform.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
