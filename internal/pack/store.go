package pack

import (
	"context"
	"io"
)

// Store is a place where a pack stands, as gradatim.Store says method by method: the
// same interface, written out in both places so that either reads as a whole in its
// own documentation. A Folder and a Zip are stores; whatever can put a set of objects
// in the place of another, such as a bucket with a pointer to the set in force, can be
// one.
type Store interface {
	Name() string
	List(ctx context.Context) (paths []string, err error)
	Open(ctx context.Context, path string) (io.ReadCloser, error)
	Begin(ctx context.Context) error
	Put(ctx context.Context, path string, data []byte) error
	Keep(ctx context.Context, path string) error
	Commit(ctx context.Context) error
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
