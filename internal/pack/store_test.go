package pack_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"gradatim/internal/pack"
	"gradatim/leadsheet"
)

// memory is a store as a bucket would be one: objects under keys, and a set in force.
type memory struct {
	mu       sync.Mutex
	set, new map[string][]byte
}

func (m *memory) Name() string { return "memory" }

func (m *memory) List(context.Context) ([]string, error) {
	return slices.Sorted(maps.Keys(m.set)), nil
}

func (m *memory) Open(_ context.Context, path string) (io.ReadCloser, error) {
	data, ok := m.set[path]
	if !ok {
		return nil, fs.ErrNotExist
	}
	return io.NopCloser(bytes.NewReader(data)), nil
}

func (m *memory) Begin(context.Context) error {
	m.new = map[string][]byte{}
	return nil
}

func (m *memory) Put(_ context.Context, path string, data []byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.new[path] = slices.Clone(data)
	return nil
}

func (m *memory) Keep(ctx context.Context, path string) error {
	data, ok := m.set[path]
	if !ok {
		return fs.ErrNotExist
	}
	return m.Put(ctx, path, data)
}

func (m *memory) Commit(ctx context.Context) error {
	if err := context.Cause(ctx); err != nil {
		return err
	}
	m.set, m.new = m.new, nil
	return nil
}

func (m *memory) Discard() error {
	m.new = nil
	return nil
}

// stores makes one of each kind, each with what it leaves beside itself.
var stores = []struct {
	name string
	make func(t *testing.T) (s pack.Store, beside func() int)
}{
	{"folder", func(t *testing.T) (pack.Store, func() int) {
		parent := t.TempDir()
		return folder(t, filepath.Join(parent, "lesson")), func() int { return entries(t, parent) }
	}},
	{"zip", func(t *testing.T) (pack.Store, func() int) {
		parent := t.TempDir()
		z, err := pack.NewZip(filepath.Join(parent, "lesson.zip"))
		if err != nil {
			t.Fatal(err)
		}
		return z, func() int { return entries(t, parent) }
	}},
	{"memory", func(t *testing.T) (pack.Store, func() int) {
		m := &memory{}
		return m, func() int { return len(m.new) + min(1, len(m.set)) }
	}},
}

func entries(t *testing.T, dir string) int {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	return len(list)
}

// contents reads all that stands in a store.
func contents(t *testing.T, s pack.Store) map[string]string {
	t.Helper()
	list, err := s.List(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, p := range list {
		r, err := s.Open(t.Context(), p)
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		r.Close()
		out[p] = string(data)
	}
	return out
}

// put gives a store a set that consists of some files and of some that are kept.
func put(t *testing.T, s pack.Store, files map[string]string, keep ...string) {
	t.Helper()
	err := s.Begin(t.Context())
	for p, text := range files {
		if err == nil {
			err = s.Put(t.Context(), p, []byte(text))
		}
	}
	for _, p := range keep {
		if err == nil {
			err = s.Keep(t.Context(), p)
		}
	}
	if err == nil {
		err = s.Commit(t.Context())
	}
	if err != nil {
		t.Fatal(err)
	}
}

// TestStore holds every kind of store to what Store promises.
func TestStore(t *testing.T) {
	for _, kind := range stores {
		t.Run(kind.name, func(t *testing.T) {
			s, beside := kind.make(t)
			if got := contents(t, s); len(got) != 0 || beside() != 0 {
				t.Fatalf("a new store holds %v", got)
			}
			if _, err := s.Open(t.Context(), "a.txt"); !errors.Is(err, fs.ErrNotExist) {
				t.Errorf("opening nothing: %v", err)
			}
			put(t, s, map[string]string{"a.txt": "one", "sub/b.txt": "two", "empty": ""})
			want := map[string]string{"a.txt": "one", "sub/b.txt": "two", "empty": ""}
			if got := contents(t, s); !maps.Equal(got, want) {
				t.Errorf("holds %v, want %v", got, want)
			}
			// Nothing that stands there changes before Commit; what is neither put nor kept goes.
			if err := errors.Join(s.Begin(t.Context()), s.Put(t.Context(), "a.txt", []byte("new"))); err != nil {
				t.Fatal(err)
			}
			if got := contents(t, s); !maps.Equal(got, want) {
				t.Errorf("before Commit it holds %v", got)
			}
			if err := s.Discard(); err != nil {
				t.Error(err)
			}
			if got := contents(t, s); !maps.Equal(got, want) || beside() != 1 {
				t.Errorf("after Discard it holds %v, and %d things lie there", got, beside())
			}
			put(t, s, map[string]string{"c.txt": "three"}, "sub/b.txt")
			if got := contents(t, s); !maps.Equal(got, map[string]string{"c.txt": "three", "sub/b.txt": "two"}) || beside() != 1 {
				t.Errorf("after the second Commit it holds %v", got)
			}
			stopped, stop := context.WithCancel(t.Context())
			stop()
			if err := s.Begin(t.Context()); err != nil {
				t.Fatal(err)
			}
			if err := s.Put(t.Context(), "d.txt", nil); err != nil {
				t.Fatal(err)
			}
			if err := s.Commit(stopped); !errors.Is(err, context.Canceled) {
				t.Errorf("committing after the end: %v", err)
			}
			if err := s.Discard(); err != nil || len(contents(t, s)) != 2 || beside() != 1 {
				t.Errorf("after a Commit too late: %v, %v", contents(t, s), err)
			}
		})
	}
}

// TestMakeInto makes the same pack in every kind of store: the same files, again with
// nothing to do, and with what others have put there.
func TestMakeInto(t *testing.T) {
	in, tools := inputOf(t, read(t, ferryLamp), "1"), tools(t, false)
	o := pack.Options{Audio: pack.NoAudio}
	var first map[string]string
	for _, kind := range stores {
		t.Run(kind.name, func(t *testing.T) {
			s, beside := kind.make(t)
			r, err := pack.Make(t.Context(), s, in, o, tools)
			if err != nil || r.Made == 0 {
				t.Fatal(r, err)
			}
			got := contents(t, s)
			if first == nil {
				first = got
			}
			if !maps.Equal(got, first) {
				t.Error("other files than in the first store")
			}
			list, _ := s.List(t.Context())
			put(t, s, map[string]string{"my notes.txt": "mine"}, list...)
			again, err := pack.Make(t.Context(), s, in, o, tools)
			if err != nil || again.Made != 0 || !slices.Equal(again.Kept, []string{"my notes.txt"}) {
				t.Errorf("again: %d made, %v kept, %v", again.Made, again.Kept, err)
			}
			if wrong, err := pack.Verify(t.Context(), s); err != nil || !slices.Equal(wrong, []pack.Fault{{Path: "my notes.txt", Is: "not listed"}}) {
				t.Errorf("verify: %v, %v", wrong, err)
			}
			put(t, s, map[string]string{"thesis.txt": "years of work"})
			var ps leadsheet.Problems
			if _, err := pack.Make(t.Context(), s, in, o, tools); !errors.As(err, &ps) || ps[0].Code != "folder-foreign" {
				t.Errorf("in the place of a stranger's file: %v", err)
			}
			if got := contents(t, s); got["thesis.txt"] != "years of work" || len(got) != 1 || beside() != 1 {
				t.Errorf("the stranger's place was touched: %v", got)
			}
		})
	}
}

// TestZipIsNoZip: a file that is no zip is left alone.
func TestZipIsNoZip(t *testing.T) {
	file := filepath.Join(t.TempDir(), "thesis.zip")
	if err := os.WriteFile(file, []byte("years of work"), 0o644); err != nil {
		t.Fatal(err)
	}
	z, err := pack.NewZip(file)
	if err != nil {
		t.Fatal(err)
	}
	if _, err = pack.Make(t.Context(), z, inputOf(t, read(t, ferryLamp), "1"), pack.Options{Audio: pack.NoAudio}, tools(t, false)); err == nil || !strings.Contains(err.Error(), "zip") {
		t.Errorf("got %v", err)
	}
	if data, _ := os.ReadFile(file); string(data) != "years of work" {
		t.Error("the file was touched")
	}
}
