package pack

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"gradatim/internal/delivery"
)

// zipTime stands in every entry of a zip file: the earliest that the format
// knows (PKWARE APPNOTE 4.4.6, MS-DOS date: from 1980). A clock would make two
// packs of one lesson differ.
var zipTime = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// stored are kinds of files that do not get smaller.
var stored = map[string]bool{".mp3": true, ".pdf": true, ".png": true}

// Zip is a pack in a zip file, with everything under one folder that is named like
// the file. A new set is gathered aside, zipped there and put in its place.
type Zip struct {
	file  string
	aside *delivery.Delivery // the new set; nil: none is begun
}

// zipped is the new zip file in the delivery.
const zipped = "set.zip"

// NewZip names the file, NAME.zip. It need not be there; nothing is written before
// Begin.
func NewZip(file string) (*Zip, error) {
	file, err := filepath.Abs(file)
	return &Zip{file: file}, err
}

// Name is the file's path.
func (z *Zip) Name() string { return z.file }

// top is the folder in the zip file.
func (z *Zip) top() string {
	base := filepath.Base(z.file)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// entries calls f with the path of each entry that is a file, until it is told that it
// is enough. A file that was renamed has its folder by its old name.
func (z *Zip) entries(f func(path string, e *zip.File) (enough bool, err error)) error {
	r, err := zip.OpenReader(z.file)
	if err != nil {
		return err
	}
	defer r.Close()
	for _, e := range r.File {
		_, p, ok := strings.Cut(e.Name, "/")
		if !ok || strings.HasSuffix(p, "/") || !fs.ValidPath(p) {
			continue
		}
		if enough, err := f(p, e); enough || err != nil {
			return err
		}
	}
	return nil
}

// List returns the paths of all entries.
func (z *Zip) List(ctx context.Context) ([]string, error) {
	var out []string
	err := z.entries(func(p string, _ *zip.File) (bool, error) {
		out = append(out, p)
		return false, context.Cause(ctx)
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	slices.Sort(out)
	return slices.Compact(out), err
}

// Open unpacks an entry.
func (z *Zip) Open(_ context.Context, path string) (io.ReadCloser, error) {
	var data []byte
	err := z.entries(func(p string, e *zip.File) (bool, error) {
		if p != path {
			return false, nil
		}
		r, err := e.Open()
		if err != nil {
			return true, err
		}
		defer r.Close()
		data, err = io.ReadAll(r)
		if data == nil {
			data = []byte{}
		}
		return true, err
	})
	if err == nil && data == nil {
		err = &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
	return io.NopCloser(bytes.NewReader(data)), err
}

// Begin makes the folder in which the new set is gathered.
func (z *Zip) Begin(context.Context) error {
	d, err := delivery.Begin(filepath.Dir(z.file))
	if err != nil {
		return err
	}
	z.aside = d
	return nil
}

// Put adds a file.
func (z *Zip) Put(_ context.Context, path string, data []byte) error {
	return z.aside.Write(set+"/"+path, data)
}

// Keep takes an entry over.
func (z *Zip) Keep(ctx context.Context, path string) error {
	data, err := read(ctx, z, path)
	if err != nil {
		return err
	}
	return z.Put(ctx, path, data)
}

// Commit zips the new set and puts it in the place of the old file.
func (z *Zip) Commit(ctx context.Context) error {
	if err := zipSet(ctx, z.aside, z.top()); err != nil {
		return err
	}
	z.aside.Place(zipped, filepath.Base(z.file))
	return z.aside.Commit()
}

// zipSet zips the new set in a delivery, under a folder of that name.
func zipSet(ctx context.Context, d *delivery.Delivery, top string) error {
	dir, err := d.Path(set)
	if err != nil {
		return err
	}
	from := &Folder{dir: dir}
	list, err := from.files(ctx)
	if err != nil {
		return err
	}
	return d.Copy(zipped, func(to io.Writer) error {
		w := zip.NewWriter(to)
		for _, p := range list {
			if err := context.Cause(ctx); err != nil {
				return err
			}
			h := &zip.FileHeader{Name: path.Join(top, p), Method: zip.Deflate, Modified: zipTime}
			if stored[path.Ext(p)] {
				h.Method = zip.Store
			}
			h.SetMode(0o644)
			if err := zipOne(w, h, from.there(p)); err != nil {
				return err
			}
		}
		return w.Close()
	})
}

func zipOne(w *zip.Writer, h *zip.FileHeader, file string) error {
	out, err := w.CreateHeader(h)
	if err != nil {
		return err
	}
	in, err := os.Open(file)
	if err != nil {
		return err
	}
	defer in.Close()
	_, err = io.Copy(out, in)
	return err
}

// Discard removes what was gathered.
func (z *Zip) Discard() error {
	if z.aside == nil {
		return nil
	}
	d := z.aside
	z.aside = nil
	return d.Discard()
}
