package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"gradatim/leadsheet"
)

// maxInput bounds what is read of one file: far above any sheet of music, far
// below what would hurt.
const maxInput = 64 << 20

// readFile reads an input, "-" being standard input.
func (sh *shell) readFile(name string) ([]byte, error) {
	var r io.Reader = sh.in
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, fileProblem(name, err)
		}
		defer f.Close()
		if st, err := f.Stat(); err == nil && st.IsDir() {
			return nil, problem(name, "file-folder", "this is a folder", "name a file in it")
		}
		r = f
	}
	data, err := io.ReadAll(io.LimitReader(r, maxInput+1))
	if err != nil {
		return nil, fileProblem(name, err)
	}
	if len(data) > maxInput {
		return nil, problem(name, "file-size", fmt.Sprintf("the file is larger than %d MB", maxInput>>20), "a sheet of music is far smaller: is this the right file?")
	}
	return data, nil
}

func fileProblem(name string, err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	fix := ""
	if errors.Is(err, fs.ErrNotExist) {
		fix = "check the name"
	}
	return problem(name, "file-read", err.Error(), fix)
}

func problem(name, code, text, fix string) error {
	var ps leadsheet.Problems
	ps.Add(leadsheet.Error, leadsheet.Pos{File: name}, code, text, fix)
	return ps
}

// output is one file to be written.
type output struct {
	name string
	data []byte
}

// writeAll writes files into a folder, which it makes if need be, so that either
// all of them appear whole or none does: everything is written aside first and
// then renamed into place.
func writeAll(dir string, outs []output) (err error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fileProblemWrite(dir, err)
	}
	aside, err := os.MkdirTemp(dir, ".gradatim-*")
	if err != nil {
		return fileProblemWrite(dir, err)
	}
	defer os.RemoveAll(aside)
	for _, o := range outs {
		if err := os.WriteFile(filepath.Join(aside, o.name), o.data, 0o644); err != nil {
			return fileProblemWrite(filepath.Join(dir, o.name), err)
		}
	}
	for _, o := range outs {
		if err := os.Rename(filepath.Join(aside, o.name), filepath.Join(dir, o.name)); err != nil {
			return fileProblemWrite(filepath.Join(dir, o.name), err)
		}
	}
	return nil
}

func fileProblemWrite(name string, err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return problem(name, "file-write", err.Error(), "choose a folder that can be written to")
}
