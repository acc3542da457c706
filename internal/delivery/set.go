package delivery

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
)

// Set is a set of files that appears in a folder as one. Put and Create may be called
// from several goroutines.
type Set struct {
	d      *Delivery
	mu     sync.Mutex
	files  []Listed
	remove []string
}

// Listed is a file of a set with what a list tells of it.
type Listed struct {
	Path   string `json:"path"` // in the folder, with slashes
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// ErrFolder is that a folder stands where a file is to be put.
var ErrFolder = errors.New("a folder stands in its place")

// BeginSet begins a set for a folder, which is made if need be. Discard it when done.
func BeginSet(dir string) (*Set, error) {
	d, err := Begin(dir)
	return &Set{d: d}, err
}

// Put adds a file.
func (s *Set) Put(path string, data []byte) error {
	return s.Create(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// Create adds a file that write writes. A path that leads out of the folder is refused.
func (s *Set) Create(path string, write func(io.Writer) error) error {
	if !filepath.IsLocal(filepath.FromSlash(path)) {
		return &fs.PathError{Op: "write", Path: path, Err: fs.ErrInvalid}
	}
	if st, err := os.Stat(filepath.Join(s.d.parent, filepath.FromSlash(path))); err == nil && st.IsDir() {
		return &fs.PathError{Op: "write", Path: filepath.Join(s.d.parent, path), Err: ErrFolder}
	}
	h := sha256.New()
	n := counter(0)
	if err := s.d.Copy("set/"+path, func(w io.Writer) error { return write(io.MultiWriter(w, h, &n)) }); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.files = append(s.files, Listed{path, int64(n), hex.EncodeToString(h.Sum(nil))})
	return nil
}

type counter int64

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}

// Remove says that a file shall not be there any more.
func (s *Set) Remove(path string) { s.remove = append(s.remove, path) }

// Files are those that were added, in their order.
func (s *Set) Files() []Listed {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.files)
}

// Keep makes sure that nobody's work is lost. ours is what an earlier list says that was
// put there: a file under the name of one that was added, of one that is to be removed or
// of one of these more, that differs from it, is kept beside under the name returned.
func (s *Set) Keep(ours []Listed, more ...string) (kept []string, err error) {
	names := map[string]bool{}
	for _, f := range s.files {
		names[f.Path] = true
	}
	at := func(name string) string { return filepath.Join(s.d.parent, filepath.FromSlash(name)) }
	keep := func(path, sum string) error {
		data, err := os.ReadFile(at(path))
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return err
		}
		was := sumOf(data)
		if was == sum || slices.ContainsFunc(ours, func(f Listed) bool { return f.Path == path && f.SHA256 == was }) {
			return nil
		}
		name := KeptName(path, func(name string) bool { return names[name] || exists(at(name)) })
		if err := s.d.Write("kept/"+name, data); err != nil {
			return err
		}
		s.d.Place("kept/"+name, name)
		names[name] = true
		kept = append(kept, name)
		return nil
	}
	for _, f := range s.files {
		if err := keep(f.Path, f.SHA256); err != nil {
			return nil, err
		}
	}
	for _, p := range slices.Concat(s.remove, more) {
		if err := keep(p, ""); err != nil {
			return nil, err
		}
	}
	return kept, nil
}

// Commit removes what is to be removed and puts the files in their places, in the order in
// which they were added. What Keep has not kept gives way.
func (s *Set) Commit() error {
	for _, p := range s.remove {
		s.d.Remove(p)
	}
	for _, f := range s.files {
		s.d.Place("set/"+f.Path, f.Path)
	}
	return s.d.Commit()
}

// Intact tells which files of a list stand in a folder as the list has them.
func Intact(dir string, list []Listed) ([]Listed, error) {
	var out []Listed
	for _, f := range list {
		if !filepath.IsLocal(filepath.FromSlash(f.Path)) {
			continue
		}
		r, err := os.Open(filepath.Join(dir, filepath.FromSlash(f.Path)))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, err
		}
		h := sha256.New()
		n, err := io.Copy(h, r)
		r.Close()
		if err != nil {
			return nil, err
		}
		if n == f.Bytes && hex.EncodeToString(h.Sum(nil)) == f.SHA256 {
			out = append(out, f)
		}
	}
	return out, nil
}

// Discard gives the set up and leaves nothing of it. After Commit it does nothing.
func (s *Set) Discard() error {
	if s.d == nil {
		return nil
	}
	return s.d.Discard()
}

func sumOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}
