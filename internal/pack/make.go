package pack

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"gradatim/leadsheet"
)

// Report tells what was made.
type Report struct {
	Manifest Manifest
	Reused   int      // parts of which nothing had changed
	Made     int      // parts that were made
	Kept     []string // files in the folder that are not ours; they were left there
	Zip      string   // path of the zip file, "" without
	ZipBytes int64
	Problems leadsheet.Problems // what had to be left out
}

// part is a piece of the work: one file or a few that are made together.
type part struct {
	name   string
	files  []string
	inputs string
	make   func(ctx context.Context, w *workshop, progress func(float64)) ([]made, error)
}

// made is a file in memory.
type made struct {
	path string
	data []byte
}

// workshop bounds what goes on at once: as many pieces of work as there are
// processors, and two recordings: each is mixed on all processors and then
// coded on one, while the other goes on. More would only take memory.
type workshop struct {
	tools      Tools
	slots      chan struct{}
	recordings chan struct{}

	mu       sync.Mutex
	problems leadsheet.Problems
}

func newWorkshop(t Tools) *workshop {
	return &workshop{tools: t, slots: make(chan struct{}, runtime.GOMAXPROCS(0)), recordings: make(chan struct{}, 2)}
}

// do runs a piece of work when a processor is free.
func (w *workshop) do(ctx context.Context, f func() error) error { return in(ctx, w.slots, f) }

// in runs a piece of work when one of the places is free.
func in(ctx context.Context, places chan struct{}, f func() error) error {
	select {
	case places <- struct{}{}:
	case <-ctx.Done():
		return context.Cause(ctx)
	}
	defer func() { <-places }()
	if err := context.Cause(ctx); err != nil {
		return err
	}
	return f()
}

// tell keeps a problem for the report.
func (w *workshop) tell(ps leadsheet.Problems) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, p := range ps {
		if !slices.Contains(w.problems, p) {
			w.problems = append(w.problems, p)
		}
	}
}

// Make makes a pack in the folder dir, which appears whole or not at all. A pack
// that is there already is replaced; of it are kept the parts that would come
// out the same, and files that are not ours. A folder that holds anything but a
// pack is refused. Errors of the tune are leadsheet.Problems; after a cancelled
// context nothing has changed.
func Make(ctx context.Context, dir string, in Input, o Options, t Tools) (Report, error) {
	if o.Audio == 0 {
		o.Audio = SomeAudio
	}
	dir, old, err := destination(dir)
	if err != nil {
		return Report{}, err
	}
	parts, err := plan(in, o, t)
	if err != nil {
		return Report{}, err
	}
	parent := filepath.Dir(dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return Report{}, err
	}
	aside, err := os.MkdirTemp(parent, ".gradatim-*")
	if err != nil {
		return Report{}, err
	}
	defer os.RemoveAll(aside)
	b := &builder{dir: dir, aside: aside, old: old, o: o, w: newWorkshop(t), parts: parts}
	if err := b.run(ctx); err != nil {
		return Report{}, err
	}
	m := Manifest{Version: ManifestVersion, Kind: manifestKind, Title: title(in.Song), Program: in.Program, Rights: in.Song.Rights.Status.String()}
	for _, fs := range b.files {
		m.Files = append(m.Files, fs...)
	}
	slices.SortFunc(m.Files, func(a, b File) int { return strings.Compare(a.Path, b.Path) })
	data, err := m.encode()
	if err != nil {
		return Report{}, err
	}
	if err := os.WriteFile(filepath.Join(aside, manifestName), data, 0o644); err != nil {
		return Report{}, err
	}
	kept, err := swap(ctx, aside, dir, old)
	if err != nil {
		return Report{}, err
	}
	r := Report{Manifest: m, Reused: b.reused, Made: len(parts) - b.reused, Kept: kept, Problems: b.w.problems}
	r.Problems.Sort()
	if o.Zip {
		r.Zip = dir + ".zip"
		if r.ZipBytes, err = zipFile(dir, r.Zip); err != nil {
			return r, err
		}
	}
	return r, nil
}

// destination makes sure that the folder may be replaced.
func destination(dir string) (string, Manifest, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return dir, Manifest{}, err
	}
	if real, err := filepath.EvalSymlinks(dir); err == nil {
		dir = real
	}
	list, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return dir, Manifest{}, nil
	case err != nil:
		return dir, Manifest{}, err
	case len(list) == 0:
		return dir, Manifest{}, nil
	}
	m, err := ReadManifest(dir)
	if err != nil {
		return dir, m, refuse(dir, "folder-foreign", "the folder holds other things than a lesson", "name an empty or a new folder")
	}
	return dir, m, nil
}

func refuse(file, code, text, fix string) error {
	var ps leadsheet.Problems
	ps.Add(leadsheet.Error, leadsheet.Pos{File: file}, code, text, fix)
	return ps
}

// builder runs the parts.
type builder struct {
	dir, aside string
	old        Manifest
	o          Options
	w          *workshop
	parts      []part

	files [][]File // of each part

	mu           sync.Mutex
	done, reused int
}

// run makes all parts, each in its own goroutine; the workshop holds back what
// costs anything. The first error stops the others.
func (b *builder) run(ctx context.Context) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	b.files = make([][]File, len(b.parts))
	errs := make([]error, len(b.parts))
	var wg sync.WaitGroup
	for i := range b.parts {
		wg.Go(func() {
			if errs[i] = b.one(ctx, i); errs[i] != nil {
				stop(errs[i])
			}
		})
	}
	wg.Wait()
	if err := context.Cause(ctx); err != nil {
		return err
	}
	return errors.Join(errs...)
}

func (b *builder) one(ctx context.Context, i int) error {
	p := b.parts[i]
	if files, ok := b.reuse(p); ok {
		b.files[i] = files
		b.progress(p.name, 1, true)
		return context.Cause(ctx)
	}
	out, err := p.make(ctx, b.w, func(share float64) { b.progress(p.name, min(share, 0.999), false) })
	if err != nil {
		return fmt.Errorf("%s: %w", p.name, err)
	}
	for _, f := range out {
		if !slices.Contains(p.files, f.path) {
			return fmt.Errorf("%s made a file %s that was not planned", p.name, f.path)
		}
		to := filepath.Join(b.aside, filepath.FromSlash(f.path))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(to, f.data, 0o644); err != nil {
			return err
		}
		sum := sha256.Sum256(f.data)
		b.files[i] = append(b.files[i], File{f.path, int64(len(f.data)), hex.EncodeToString(sum[:]), p.name, p.inputs})
	}
	b.progress(p.name, 1, false)
	return nil
}

// reuse takes over the files of a part of the old pack, if they are what would
// be made now and nobody has touched them.
func (b *builder) reuse(p part) ([]File, bool) {
	var out []File
	for _, f := range b.old.Files {
		if f.Part == p.name && f.Inputs == p.inputs && slices.Contains(p.files, f.Path) {
			out = append(out, f)
		}
	}
	if len(out) != len(p.files) {
		return nil, false
	}
	for _, f := range out {
		from := filepath.Join(b.dir, filepath.FromSlash(f.Path))
		if sum, n, err := hashFile(from); err != nil || sum != f.SHA256 || n != f.Bytes {
			return nil, false
		}
	}
	for _, f := range out {
		from, to := filepath.Join(b.dir, filepath.FromSlash(f.Path)), filepath.Join(b.aside, filepath.FromSlash(f.Path))
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return nil, false
		}
		if os.Link(from, to) == nil {
			continue
		}
		data, err := os.ReadFile(from)
		if err != nil || os.WriteFile(to, data, 0o644) != nil {
			return nil, false
		}
	}
	return out, true
}

func (b *builder) progress(name string, share float64, reused bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if share == 1 {
		b.done++
		if reused {
			b.reused++
		}
	}
	if b.o.Progress != nil {
		b.o.Progress(Progress{Part: name, Share: share, Reused: reused, Parts: len(b.parts), Done: b.done})
	}
}

// swap puts the new folder in the place of the old. Files there that no manifest
// lists go along.
func swap(ctx context.Context, aside, dir string, old Manifest) (kept []string, err error) {
	if err := context.Cause(ctx); err != nil {
		return nil, err
	}
	if err := os.Chmod(aside, 0o755); err != nil {
		return nil, err
	}
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		return nil, os.Rename(aside, dir)
	}
	ours := map[string]bool{manifestName: true}
	for _, f := range old.Files {
		ours[f.Path] = true
	}
	there, err := files(dir)
	if err != nil {
		return nil, err
	}
	gone := aside + ".old"
	if err := os.Rename(dir, gone); err != nil {
		return nil, err
	}
	if err := os.Rename(aside, dir); err != nil {
		return nil, errors.Join(err, os.Rename(gone, dir))
	}
	for _, p := range there {
		to := filepath.Join(dir, filepath.FromSlash(p))
		if _, err := os.Lstat(to); ours[p] || err == nil {
			continue
		}
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return kept, err
		}
		if err := os.Rename(filepath.Join(gone, filepath.FromSlash(p)), to); err != nil {
			return kept, err
		}
		kept = append(kept, p)
	}
	return kept, os.RemoveAll(gone)
}
