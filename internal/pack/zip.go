package pack

import (
	"archive/zip"
	"io"
	"os"
	"path"
	"path/filepath"
	"time"
)

// zipTime stands in every entry of a zip file: the earliest that the format
// knows (PKWARE APPNOTE 4.4.6, MS-DOS date: from 1980). A clock would make two
// packs of one lesson differ.
var zipTime = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// stored are kinds of files that do not get smaller.
var stored = map[string]bool{".mp3": true, ".pdf": true, ".png": true}

// writeZip writes the folder as a zip file, with everything under one folder
// name.
func writeZip(w io.Writer, dir, name string) error {
	list, err := files(dir)
	if err != nil {
		return err
	}
	z := zip.NewWriter(w)
	for _, p := range list {
		h := &zip.FileHeader{Name: path.Join(name, p), Method: zip.Deflate, Modified: zipTime}
		if stored[path.Ext(p)] {
			h.Method = zip.Store
		}
		h.SetMode(0o644)
		out, err := z.CreateHeader(h)
		if err != nil {
			return err
		}
		f, err := os.Open(filepath.Join(dir, filepath.FromSlash(p)))
		if err != nil {
			return err
		}
		_, err = io.Copy(out, f)
		f.Close()
		if err != nil {
			return err
		}
	}
	return z.Close()
}

// zipFile writes NAME.zip whole or not at all, and returns its size.
func zipFile(dir, to string) (int64, error) {
	f, err := os.CreateTemp(filepath.Dir(to), ".gradatim-*")
	if err != nil {
		return 0, err
	}
	defer func() {
		f.Close()
		os.Remove(f.Name())
	}()
	if err := writeZip(f, dir, filepath.Base(dir)); err != nil {
		return 0, err
	}
	st, err := f.Stat()
	if err != nil {
		return 0, err
	}
	if err := f.Chmod(0o644); err != nil {
		return 0, err
	}
	if err := f.Close(); err != nil {
		return 0, err
	}
	return st.Size(), os.Rename(f.Name(), to)
}
