package dictation_test

import (
	"context"
	"os"
	"testing"

	"gradatim"
	"gradatim/internal/dictation"
	"gradatim/internal/edition"
	"gradatim/internal/sharedtest"
	"gradatim/internal/smf"
)

// A page of 32 bars is to be written down within 5 ms.
func BenchmarkWriteDown(b *testing.B) {
	data, err := os.ReadFile(sharedtest.Path(b, "tunes/original.abc"))
	if err != nil {
		b.Fatal(err)
	}
	song, err := gradatim.Read("original.abc", data, 1)
	if err != nil {
		b.Fatal(err)
	}
	pages, err := edition.Make(context.Background(), song, edition.Options{})
	if err != nil {
		b.Fatal(err)
	}
	page := pages[4]
	file, _, err := gradatim.WriteMIDI(context.Background(), page.Score, gradatim.Take{})
	if err != nil {
		b.Fatal(err)
	}
	for name, data := range map[string][]byte{"file": file, "live": live(b, page, 93)} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				f, err := smf.Read(data, "x.mid")
				if err != nil {
					b.Fatal(err)
				}
				if _, _, err := dictation.Of(f, dictation.Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(name+"-sheet", func(b *testing.B) {
			for b.Loop() {
				if _, err := gradatim.Read("x.mid", data, 0); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
