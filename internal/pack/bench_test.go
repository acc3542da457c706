package pack_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/engrave"
	"gradatim/internal/pack"
	"gradatim/internal/sharedtest"
)

// BenchmarkMake packs the demo tune: without sound, at one level and at all, and
// once more when nothing has changed.
func BenchmarkMake(b *testing.B) {
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "examples", "lantern.abc"))
	if err != nil {
		b.Fatal(err)
	}
	song, err := gradatim.Read("lantern.abc", data, 0)
	if err != nil {
		b.Fatal(err)
	}
	for _, levels := range []string{"1", "1-5"} {
		in := inputOf(b, song, levels)
		b.Run(fmt.Sprintf("bars=32/levels=%s/audio=none", levels), func(b *testing.B) {
			tools(b, false)
			b.ReportAllocs()
			for b.Loop() {
				// An engraver that remembers nothing, as in a new run of the program.
				t := tools(b, false)
				if t.Engraver, err = engrave.New(engrave.Config{}); err != nil {
					b.Fatal(err)
				}
				if _, err := pack.Make(b.Context(), folder(b, filepath.Join(b.TempDir(), "lesson")), in, pack.Options{Audio: pack.NoAudio}, t); err != nil {
					b.Fatal(err)
				}
				t.Engraver.Close()
			}
		})
		b.Run(fmt.Sprintf("bars=32/levels=%s/audio=none/unchanged", levels), func(b *testing.B) {
			dir := filepath.Join(b.TempDir(), "lesson")
			build(b, dir, in, pack.Options{})
			b.ReportAllocs()
			for b.Loop() {
				build(b, dir, in, pack.Options{})
			}
		})
	}
}
