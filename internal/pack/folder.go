package pack

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// Folder is a pack in a folder. A new set is written beside it, into a folder with
// a name of its own, and then renamed into its place.
type Folder struct {
	dir   string
	aside string // of the new set; "": none is begun
}

// NewFolder names the folder. It need not be there; nothing is written before Begin.
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

// Name is the folder's path.
func (f *Folder) Name() string { return f.dir }

// List returns the paths of all files in the folder and below.
func (f *Folder) List(ctx context.Context) ([]string, error) {
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
func (f *Folder) Begin(context.Context) (err error) {
	parent := filepath.Dir(f.dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	f.aside, err = os.MkdirTemp(parent, ".gradatim-*")
	return err
}

// place makes room for a file of the new set.
func (f *Folder) place(path string) (string, error) {
	to := filepath.Join(f.aside, filepath.FromSlash(path))
	return to, os.MkdirAll(filepath.Dir(to), 0o755)
}

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

// Commit puts the new folder in the place of the old one.
func (f *Folder) Commit(ctx context.Context) error {
	if err := context.Cause(ctx); err != nil {
		return err
	}
	if err := os.Chmod(f.aside, 0o755); err != nil {
		return err
	}
	if _, err := os.Lstat(f.dir); errors.Is(err, fs.ErrNotExist) {
		if err := os.Rename(f.aside, f.dir); err != nil {
			return err
		}
		f.aside = ""
		return nil
	}
	gone := f.aside + ".old"
	if err := os.Rename(f.dir, gone); err != nil {
		return err
	}
	if err := os.Rename(f.aside, f.dir); err != nil {
		return errors.Join(err, os.Rename(gone, f.dir))
	}
	f.aside = ""
	return os.RemoveAll(gone)
}

// Discard removes the new folder.
func (f *Folder) Discard() error {
	if f.aside == "" {
		return nil
	}
	aside := f.aside
	f.aside = ""
	return os.RemoveAll(aside)
}
