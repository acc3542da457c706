package proof_test

import (
	"fmt"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/proof"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest/corpus"
)

// BenchmarkOf is what reading takes longer for it, the analysis included.
func BenchmarkOf(b *testing.B) {
	all := corpus.Sheets(b)
	for _, n := range []int{32, 512} {
		song := scoretest.Repeated(all[len(all)/2].Song, n)
		b.Run(fmt.Sprintf("bars=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				proof.Of(song, harmony.Analyse(song))
			}
		})
	}
}
