package pack

import (
	"context"
	"io"
)

// Store is a place where a pack stands: a set of files under their paths, which are
// written with slashes. A new set takes the place of the old one at once: until
// Commit nothing that stands there changes, and after it there is what was Put or
// Kept since Begin, and nothing else. Put and Keep are called from several
// goroutines. A Folder and a Zip are stores; whatever can put a set of objects in the
// place of another, such as a bucket with a pointer to the set in force, can be one.
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

// Copy puts what stands in one store into another, in the place of whatever is there.
func Copy(ctx context.Context, to, from Store) error {
	list, err := from.List(ctx)
	if err != nil {
		return err
	}
	if err := to.Begin(ctx); err != nil {
		return err
	}
	defer to.Discard()
	for _, path := range list {
		data, err := read(ctx, from, path)
		if err != nil {
			return err
		}
		if err := to.Put(ctx, path, data); err != nil {
			return err
		}
	}
	return to.Commit(ctx)
}

// read returns a file that stands in a store.
func read(ctx context.Context, s Store, path string) ([]byte, error) {
	r, err := s.Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}
