package pack

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"gradatim/internal/delivery"
)

// Folder is a pack in a folder, and in a zip file beside it where one is asked for. A
// new set is written aside, with its zip file, and then both are put in their places.
type Folder struct {
	dir   string
	zip   bool
	aside *delivery.Delivery // the new set; nil: none is begun
}

// set is the new set in the delivery.
const set = "set"

// NewFolder names the folder. It need not be there; nothing is written before Begin,
// but what a run that was stopped has left is put right when the folder is first read.
func NewFolder(dir string) (*Folder, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	if real, err := filepath.EvalSymlinks(dir); err == nil {
		dir = real
	}
	return &Folder{dir: dir}, nil
}

// Zipped is the folder with a zip file of the same set beside it, NAME.zip; the two are
// replaced together.
func (f *Folder) Zipped() (with *Folder, file string) {
	return &Folder{dir: f.dir, zip: true}, f.dir + ".zip"
}

// Name is the folder's path.
func (f *Folder) Name() string { return f.dir }

// List returns the paths of all files in the folder and below.
func (f *Folder) List(ctx context.Context) ([]string, error) {
	if err := delivery.Settle(filepath.Dir(f.dir)); err != nil {
		return nil, err
	}
	return f.files(ctx)
}

// files lists what stands there.
func (f *Folder) files(ctx context.Context) ([]string, error) {
	var out []string
	err := filepath.WalkDir(f.dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		rel, err := filepath.Rel(f.dir, p)
		out = append(out, filepath.ToSlash(rel))
		return errors.Join(err, context.Cause(ctx))
	})
	if errors.Is(err, fs.ErrNotExist) && out == nil {
		return nil, nil
	}
	slices.Sort(out)
	return out, err
}

// Open opens a file.
func (f *Folder) Open(_ context.Context, path string) (io.ReadCloser, error) {
	return os.Open(f.there(path))
}

func (f *Folder) there(path string) string { return filepath.Join(f.dir, filepath.FromSlash(path)) }

// Begin makes the folder for the new set.
func (f *Folder) Begin(context.Context) error {
	d, err := delivery.Begin(filepath.Dir(f.dir))
	if err != nil {
		return err
	}
	f.aside = d
	return nil
}

// place makes room for a file of the new set.
func (f *Folder) place(path string) (string, error) { return f.aside.Path(set + "/" + path) }

// Put writes a file.
func (f *Folder) Put(_ context.Context, path string, data []byte) error {
	to, err := f.place(path)
	if err != nil {
		return err
	}
	return os.WriteFile(to, data, 0o644)
}

// Keep links a file into the new set, or copies it where the system has no links.
func (f *Folder) Keep(_ context.Context, path string) error {
	from := f.there(path)
	to, err := f.place(path)
	if err != nil {
		return err
	}
	if os.Link(from, to) == nil {
		return nil
	}
	st, err := os.Lstat(from)
	if err != nil {
		return err
	}
	if st.Mode()&fs.ModeSymlink != 0 {
		target, err := os.Readlink(from)
		if err != nil {
			return err
		}
		return os.Symlink(target, to)
	}
	r, err := os.Open(from)
	if err != nil {
		return err
	}
	defer r.Close()
	w, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, st.Mode().Perm())
	if err != nil {
		return err
	}
	_, err = io.Copy(w, r)
	return errors.Join(err, w.Close())
}

// Commit puts the new folder, and its zip file, in the place of the old one.
func (f *Folder) Commit(ctx context.Context) error {
	if _, err := f.place("."); err != nil { // an empty set is a folder too
		return err
	}
	base := filepath.Base(f.dir)
	f.aside.Place(set, base)
	if f.zip {
		if err := zipSet(ctx, f.aside, base); err != nil {
			return err
		}
		f.aside.Place(zipped, base+".zip")
	}
	if err := context.Cause(ctx); err != nil {
		return err
	}
	return f.aside.Commit()
}

// Discard removes the new folder.
func (f *Folder) Discard() error {
	if f.aside == nil {
		return nil
	}
	d := f.aside
	f.aside = nil
	return d.Discard()
}
