package assets

import (
	"io"
	"io/fs"
)

//go:generate go run ./prepare/piano -node ../node_modules -o data/piano.bank

// Piano returns the file of the sampled grand piano (see package
// internal/sound/bank for its form) without copying it into memory. It returns
// a [MissingError] when the file was not prepared before the build.
//
// Whoever plays it must name its source: see sound.Credit.
func Piano() (*io.SectionReader, error) { return piano(data) }

func piano(files fs.FS) (*io.SectionReader, error) {
	missing := &MissingError{Name: "the piano", File: "piano.bank"}
	f, err := files.Open("data/piano.bank")
	if err != nil {
		return nil, missing
	}
	r, ok := f.(io.ReaderAt)
	st, err := f.Stat()
	if !ok || err != nil {
		return nil, missing
	}
	return io.NewSectionReader(r, 0, st.Size()), nil
}
