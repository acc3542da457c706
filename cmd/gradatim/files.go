package main

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"gradatim"
	"gradatim/leadsheet"
)

// maxInput bounds what is read of one file: far above any sheet of music, far
// below what would hurt.
const maxInput = 32 << 20

// label is how an input is called in messages.
func label(name string) string {
	if name == "-" {
		return gradatim.StandardInput
	}
	return name
}

// readFile reads an input, "-" being standard input.
func (sh *shell) readFile(name string) ([]byte, error) {
	var r io.Reader = sh.in
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, fileProblem(name, err)
		}
		defer f.Close()
		st, err := f.Stat()
		if err != nil {
			return nil, fileProblem(name, err)
		}
		if st.IsDir() {
			return nil, problem(name, "file-folder")
		}
		if st.Size() > maxInput {
			return nil, tooLarge(name)
		}
		r = f
	}
	data, err := io.ReadAll(io.LimitReader(r, maxInput+1))
	if err != nil {
		return nil, fileProblem(label(name), err)
	}
	if len(data) > maxInput {
		return nil, tooLarge(label(name))
	}
	return data, nil
}

func tooLarge(name string) error {
	return problem(name, "file-too-large.input", "Most", maxInput>>20)
}

func fileProblem(name string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return problem(name, "file-read.missing")
	}
	return problem(name, "file-read", "Error", plain(err))
}

// plain is what the system says of a file, without our names for the file.
func plain(err error) string {
	var pe *fs.PathError
	var le *os.LinkError
	switch {
	case errors.As(err, &pe):
		err = pe.Err
	case errors.As(err, &le):
		err = le.Err
	}
	return err.Error()
}

func problem(name string, says leadsheet.Saying, parts ...any) error {
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: name}, says, parts...)
	return ps
}

// output is one file to be written.
type output struct {
	name string
	data []byte
}

// writeAll writes files into a folder, which it makes if need be. Everything is
// written aside first and then renamed into place, so that each file appears
// whole, and none appears when one cannot be written.
func writeAll(dir string, outs []output) (err error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return writeProblem(dir, err)
	}
	for _, o := range outs {
		target := filepath.Join(dir, o.name)
		if st, err := os.Lstat(target); err == nil && st.IsDir() {
			return problem(target, "file-write.folder")
		}
	}
	aside, err := os.MkdirTemp(dir, ".gradatim-*")
	if err != nil {
		return writeProblem(dir, err)
	}
	defer os.RemoveAll(aside)
	for _, o := range outs {
		if err := os.WriteFile(filepath.Join(aside, o.name), o.data, 0o644); err != nil {
			return writeProblem(filepath.Join(dir, o.name), err)
		}
	}
	for _, o := range outs {
		if err := os.Rename(filepath.Join(aside, o.name), filepath.Join(dir, o.name)); err != nil {
			return writeProblem(filepath.Join(dir, o.name), err)
		}
	}
	return nil
}

func writeProblem(name string, err error) error {
	return problem(name, "file-write.system", "Error", plain(err))
}
