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

// system tells whether an error is the file system's.
func system(err error) bool {
	var pe *fs.PathError
	var le *os.LinkError
	var se *os.SyscallError
	return errors.As(err, &pe) || errors.As(err, &le) || errors.As(err, &se)
}

// tellKept tells of files that somebody had changed, or that stood there before, which
// were kept beside the new ones.
func (sh *shell) tellKept(dir string, kept []string) {
	for _, name := range kept {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Warning, leadsheet.Pos{File: filepath.Join(dir, name)}, "file-kept")
		sh.say(sh.words.Problems(ps)...)
	}
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

// writeAll writes files into a folder, which it makes if need be: all of them appear, or
// none.
func writeAll(dir string, outs []output) error {
	set, err := fill(dir, outs)
	if err != nil {
		return err
	}
	defer set.Discard()
	if err := set.Commit(); err != nil {
		return writeProblem(dir, err)
	}
	return nil
}

// writeOne writes one file by its path, and makes its folder if need be.
func writeOne(path string, data []byte) error {
	return writeAll(filepath.Dir(path), []output{{filepath.Base(path), data}})
}

// fill begins a set for a folder with files in it.
func fill(dir string, outs []output) (*gradatim.Set, error) {
	set, err := gradatim.BeginSet(dir)
	if err != nil {
		return nil, writeProblem(dir, err)
	}
	for _, o := range outs {
		if err := set.Put(o.name, o.data); err != nil {
			set.Discard()
			return nil, writeProblem(filepath.Join(dir, o.name), err)
		}
	}
	return set, nil
}

func writeProblem(name string, err error) error {
	if gradatim.WasFolder(err) {
		return problem(name, "file-write.folder")
	}
	return problem(name, "file-write.system", "Error", plain(err))
}
