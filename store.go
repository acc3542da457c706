package gradatim

import (
	"context"
	"io"

	"gradatim/internal/pack"
)

// Store is a place where a lesson stands: a set of files under their paths, which are
// written with slashes. A new set takes the place of the old one at once: until
// Commit nothing that stands there changes, and after it there is what was Put or
// Kept since Begin, and nothing else. Put and Keep are called from several
// goroutines. Folder and Zip make stores; whatever can put a set of objects in the
// place of another can be one.
type Store interface {
	// Name is what the place is called in messages.
	Name() string
	// List returns the paths that stand there, sorted; none where there is nothing.
	List(ctx context.Context) ([]string, error)
	// Open opens a file that stands there; fs.ErrNotExist where there is none.
	Open(ctx context.Context, path string) (io.ReadCloser, error)

	// Begin begins a new set.
	Begin(ctx context.Context) error
	// Put adds a file to the new set.
	Put(ctx context.Context, path string, data []byte) error
	// Keep takes a file that stands there over into the new set as it is.
	Keep(ctx context.Context, path string) error
	// Commit puts the new set in the place of what stands there: whole, or not at all.
	Commit(ctx context.Context) error
	// Discard gives the new set up and leaves nothing of it. After Commit it does
	// nothing.
	Discard() error
}

// Folder is a store in a folder, which need not be there yet. A new set is written
// beside it and renamed into its place.
func Folder(dir string) (Store, error) { return pack.NewFolder(dir) }

// FolderAndZip is Folder with a zip file of the same set beside it, which it names; both
// are replaced together.
func FolderAndZip(dir string) (s Store, zip string, err error) {
	f, err := pack.NewFolder(dir)
	if err != nil {
		return nil, "", err
	}
	s, zip = f.Zipped()
	return s, zip, nil
}

// Zip is a store in a zip file, which need not be there yet, with everything under one
// folder that is named like the file.
func Zip(file string) (Store, error) { return pack.NewZip(file) }

// Copy puts what stands in one store into another, in the place of whatever is there.
func Copy(ctx context.Context, to, from Store) error { return pack.Copy(ctx, to, from) }

// Verify compares a lesson with its manifest and names the files that are missing,
// changed or not listed.
func Verify(ctx context.Context, s Store) ([]string, error) {
	faults, err := pack.Verify(ctx, s)
	var out []string
	for _, f := range faults {
		out = append(out, f.Path+": "+f.Is)
	}
	return out, err
}
