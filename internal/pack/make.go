package pack

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"slices"
	"strings"
	"sync"

	"gradatim/internal/delivery"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// Report tells what was made.
type Report struct {
	Manifest Manifest
	Reused   int                // parts of which nothing had changed
	Made     int                // parts that were made
	Kept     []string           // files there that are not ours; they were left
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
		if !w.problems.Has(p) {
			w.problems = append(w.problems, p)
		}
	}
}

// Make makes a pack in a store, where it appears whole or not at all. A pack that
// stands there is replaced; of it are kept the parts that would come out the same,
// and files that are not ours. A place that holds anything but a pack is refused.
// Errors of the tune are leadsheet.Problems; after a cancelled context nothing has
// changed.
func Make(ctx context.Context, to Store, in Input, o Options, t Tools) (Report, error) {
	if o.Audio == 0 {
		o.Audio = SomeAudio
	}
	old, err := standing(ctx, to)
	if err != nil {
		return Report{}, err
	}
	parts, err := plan(in, o, t)
	if err != nil {
		return Report{}, err
	}
	if err := to.Begin(ctx); err != nil {
		return Report{}, err
	}
	defer to.Discard()
	b := &builder{to: to, old: old, o: o, w: newWorkshop(t), parts: parts}
	if err := b.run(ctx); err != nil {
		return Report{}, err
	}
	m := Manifest{Version: ManifestVersion, Kind: manifestKind, Title: title(in, words.Must(in.Language)), Program: in.Program, Rights: in.Song.Rights.Status.String()}
	for _, fs := range b.files {
		m.Files = append(m.Files, fs...)
	}
	byPath := func(a, b File) int { return strings.Compare(a.Path, b.Path) }
	slices.SortFunc(m.Files, byPath)
	worker, code, err := offline(m.Files)
	if err != nil {
		return Report{}, err
	}
	if err := to.Put(ctx, worker.Path, code); err != nil {
		return Report{}, err
	}
	m.Files = append(m.Files, worker)
	slices.SortFunc(m.Files, byPath)
	if len(b.w.problems) == 0 && !slices.ContainsFunc(in.Editions, func(e Edition) bool { return len(e.Refused) > 0 }) {
		m.Job = in.Job
	}
	data, err := m.encode()
	if err != nil {
		return Report{}, err
	}
	if err := to.Put(ctx, ManifestName, data); err != nil {
		return Report{}, err
	}
	kept, err := keepOthers(ctx, to, old, m)
	if err != nil {
		return Report{}, err
	}
	if err := to.Commit(ctx); err != nil {
		return Report{}, err
	}
	r := Report{Manifest: m, Reused: b.reused, Made: len(parts) - b.reused, Kept: kept, Problems: b.w.problems}
	r.Problems.Sort()
	return r, nil
}

// Again takes over the pack that stands in a store, if it is what would be made of a job,
// which is the SHA-256 in Input.Job, by a program, as Input.Program names it: nothing needs to
// be arranged or written to know it. Files that are not ours stay. Where anything is
// otherwise, also where something was told when the pack was made, ok is false and the
// store is as it was.
func Again(ctx context.Context, to Store, job, program string) (r Report, ok bool, err error) {
	m, err := standing(ctx, to)
	if err != nil || m.Job != job || m.Program != program || job == "" {
		return Report{}, false, err
	}
	parts := map[string]bool{}
	for _, f := range m.Files {
		if sum, n, err := hashFile(ctx, to, f.Path); err != nil || sum != f.SHA256 || n != f.Bytes {
			return Report{}, false, context.Cause(ctx)
		}
		parts[f.Part] = parts[f.Part] || f.Part != offlinePart
	}
	if err := to.Begin(ctx); err != nil {
		return Report{}, false, err
	}
	defer to.Discard()
	for _, f := range m.Files {
		if err := to.Keep(ctx, f.Path); err != nil {
			return Report{}, false, context.Cause(ctx) // then all is made
		}
	}
	data, err := m.encode()
	if err != nil {
		return Report{}, false, err
	}
	if err := to.Put(ctx, ManifestName, data); err != nil {
		return Report{}, false, err
	}
	kept, err := keepOthers(ctx, to, Manifest{}, m)
	if err != nil {
		return Report{}, false, err
	}
	if err := to.Commit(ctx); err != nil {
		return Report{}, false, err
	}
	delete(parts, offlinePart)
	return Report{Manifest: m, Reused: len(parts), Kept: kept}, true, nil
}

// standing makes sure that what stands in a store may be replaced, and returns the
// manifest of the pack that does; an empty one where there is nothing.
func standing(ctx context.Context, s Store) (Manifest, error) {
	list, err := s.List(ctx)
	if err != nil || len(list) == 0 {
		return Manifest{}, err
	}
	m, err := ReadManifest(ctx, s)
	if err != nil {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: s.Name()}, "folder-foreign")
		return m, ps
	}
	return m, nil
}

// keepOthers takes over what stands in the store and is neither of the old pack nor of
// the new one; and beside the new one, under another name, what was of the old one and
// has been changed since.
func keepOthers(ctx context.Context, s Store, old, m Manifest) (kept []string, err error) {
	taken := map[string]bool{ManifestName: true}
	for _, f := range slices.Concat(old.Files, m.Files) {
		taken[f.Path] = true
	}
	there, err := s.List(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range there {
		if taken[p] {
			continue
		}
		if err := s.Keep(ctx, p); err != nil {
			return nil, err
		}
		taken[p] = true
		kept = append(kept, p)
	}
	for _, f := range old.Files {
		sum, _, err := hashFile(ctx, s, f.Path)
		if errors.Is(err, fs.ErrNotExist) || sum == f.SHA256 {
			continue
		}
		if err != nil {
			return nil, err
		}
		if i := slices.IndexFunc(m.Files, func(n File) bool { return n.Path == f.Path }); i >= 0 && m.Files[i].SHA256 == sum {
			continue
		}
		data, err := read(ctx, s, f.Path)
		if err != nil {
			return nil, err
		}
		p := delivery.KeptName(f.Path, func(name string) bool { return taken[name] })
		if err := s.Put(ctx, p, data); err != nil {
			return nil, err
		}
		taken[p] = true
		kept = append(kept, p)
	}
	return kept, nil
}

// builder runs the parts.
type builder struct {
	to    Store
	old   Manifest
	o     Options
	w     *workshop
	parts []part

	files [][]File // of each part

	names        []string // of the parts
	mu           sync.Mutex
	done, reused int
}

// run makes the parts, a few at once, in their order: what a part has made so far it holds until it
// is whole. Within them the workshop holds back what costs anything. The first error stops
// the others.
func (b *builder) run(ctx context.Context) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	b.files = make([][]File, len(b.parts))
	for _, p := range b.parts {
		b.names = append(b.names, p.name)
	}
	errs := make([]error, len(b.parts))
	var wg sync.WaitGroup
	places := make(chan struct{}, max(2, runtime.GOMAXPROCS(0)))
	for i := range b.parts {
		places <- struct{}{}
		wg.Go(func() {
			defer func() { <-places }()
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
	if files, ok := b.reuse(ctx, p); ok {
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
		if err := b.to.Put(ctx, f.path, f.data); err != nil {
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
func (b *builder) reuse(ctx context.Context, p part) ([]File, bool) {
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
		if sum, n, err := hashFile(ctx, b.to, f.Path); err != nil || sum != f.SHA256 || n != f.Bytes {
			return nil, false
		}
	}
	for _, f := range out {
		if b.to.Keep(ctx, f.Path) != nil {
			return nil, false // then it is made
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
		b.o.Progress(Progress{Part: name, Share: share, Reused: reused, Parts: len(b.parts), Done: b.done, All: b.names})
	}
}
