// Package engine runs the engraver's WebAssembly module: text in, SVG out. It
// owns the host (imports, files, clock), the compiled code, its cache and a
// pool of instances. No WebAssembly type leaves it, and it knows nothing about
// music: what a page should look like is decided by its caller.
//
// The host is closed: the module sees its own read-only files, a clock that
// stands at the epoch, no randomness, no environment and no network. So the
// same input gives the same bytes.
package engine

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
)

// Config sets up an Engine. The zero value of every field but Module is ready.
type Config struct {
	Module   []byte // WebAssembly binary, as internal/engrave/module makes it
	CacheDir string // folder for compiled code; empty, missing or read-only: none is kept
	Memory   int64  // bytes that one instance may have; 0 means 1 GiB
	Idle     int    // instances used at once and kept for later, at least two; 0 means the number of processors
}

const (
	pageSize      = 65536
	defaultMemory = 1 << 30
	// An instance never gives memory back, so one that has grown beyond this
	// is not kept. It begins with 128 MiB, of which it touches little.
	keepBelow = 136 << 20
)

// Engine is the compiled module and its instances. It may be used by many
// goroutines at once.
type Engine struct {
	runtime wazero.Runtime
	code    wazero.CompiledModule
	cache   wazero.CompilationCache
	memory  int64
	idle    chan *Toolkit
	places  chan struct{} // for those in use: more than there are processors would only cost their making

	files *files
}

// Open compiles the module, or takes compiled code from the cache.
func Open(ctx context.Context, c Config) (*Engine, error) {
	if c.Memory == 0 {
		c.Memory = defaultMemory
	}
	if c.Memory < pageSize || c.Memory > 4<<30 {
		return nil, fmt.Errorf("engine: memory of %d bytes is not between 64 KiB and 4 GiB", c.Memory)
	}
	if c.Idle <= 0 {
		c.Idle = runtime.GOMAXPROCS(0)
	}
	places := max(2, c.Idle) // so a short score need not wait for a long one
	e := &Engine{memory: c.Memory, idle: make(chan *Toolkit, places), places: make(chan struct{}, places), files: &files{}}
	if cache := openCache(c.CacheDir); cache != nil {
		if err := e.compile(ctx, c.Module, cache); err == nil {
			return e, nil
		}
		e.Close()
		// A damaged cache is made anew; where that fails too the module decides.
		if ctx.Err() == nil && clearCache(c.CacheDir) == nil {
			if cache = openCache(c.CacheDir); cache != nil {
				if err := e.compile(ctx, c.Module, cache); err == nil {
					return e, nil
				}
				e.Close()
			}
		}
	}
	if err := e.compile(ctx, c.Module, nil); err != nil {
		e.Close()
		if ctx.Err() != nil {
			return nil, context.Cause(ctx)
		}
		return nil, fmt.Errorf("engine: the engraver's module cannot be used: %w", err)
	}
	return e, nil
}

func (e *Engine) compile(ctx context.Context, module []byte, cache wazero.CompilationCache) error {
	rc := wazero.NewRuntimeConfig().
		WithCoreFeatures(api.CoreFeaturesV2).
		WithMemoryLimitPages(uint32(e.memory / pageSize))
	if cache != nil {
		rc = rc.WithCompilationCache(cache)
	}
	e.cache = cache
	e.runtime = wazero.NewRuntimeWithConfig(ctx, rc)
	code, err := e.runtime.CompileModule(experimental.WithCompilationWorkers(ctx, runtime.GOMAXPROCS(0)), module)
	if err != nil {
		return err
	}
	e.code = code
	return e.provideImports(ctx)
}

// Close frees the engine. Calls that are running end with an error.
func (e *Engine) Close() error {
	ctx := context.Background()
	var errs []error
	if e.runtime != nil {
		errs = append(errs, e.runtime.Close(ctx))
	}
	if e.cache != nil {
		errs = append(errs, e.cache.Close(ctx))
	}
	e.runtime, e.cache = nil, nil
	return errors.Join(errs...)
}

// openCache opens the folder for compiled code; nil if it cannot be written. Compiled
// code is run later, so a folder that others own or may write to is not trusted.
func openCache(dir string) wazero.CompilationCache {
	if dir == "" || os.MkdirAll(dir, 0o700) != nil {
		return nil
	}
	if st, err := os.Stat(dir); err != nil || !private(st) {
		return nil
	}
	probe, err := os.CreateTemp(dir, "probe-*")
	if err != nil {
		return nil
	}
	probe.Close()
	if os.Remove(probe.Name()) != nil {
		return nil
	}
	c, err := wazero.NewCompilationCacheWithDir(dir)
	if err != nil {
		return nil
	}
	return c
}

// clearCache removes the compiled code: the folders of the runtime's versions.
func clearCache(dir string) error {
	versions, err := filepath.Glob(filepath.Join(dir, "wazero-*"))
	for _, v := range versions {
		err = errors.Join(err, os.RemoveAll(v))
	}
	return err
}

// DefaultCacheDir is the folder for compiled code in the user's cache folder,
// or empty where the system names none.
func DefaultCacheDir() string {
	d, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return filepath.Join(d, "gradatim", "engraver")
}

// Do lends a toolkit to f. When f fails for a reason that leaves the instance
// in an unknown state (a trap, a cancelled context, too much memory), the
// instance is thrown away and the next call gets a new one.
func (e *Engine) Do(ctx context.Context, f func(*Toolkit) error) error {
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	select {
	case e.places <- struct{}{}:
	case <-ctx.Done():
		return context.Cause(ctx)
	}
	defer func() { <-e.places }()
	t, err := e.get(ctx)
	if err != nil {
		return e.explain(ctx, err)
	}
	err = t.use(ctx, f)
	if t.broken || t.size() > keepBelow {
		t.close()
	} else {
		select {
		case e.idle <- t:
		default:
			t.close()
		}
	}
	return e.explain(ctx, err)
}

// explain puts the reason of a cancelled context before whatever the runtime
// made of it.
func (e *Engine) explain(ctx context.Context, err error) error {
	if err != nil && ctx.Err() != nil {
		return context.Cause(ctx)
	}
	return err
}

func (e *Engine) get(ctx context.Context) (*Toolkit, error) {
	select {
	case t := <-e.idle:
		return t, nil
	default:
		return e.instantiate(ctx)
	}
}

// ReadFile returns one of the files that the module carries, such as
// "data/Leipzig/E0A4.xml". The bytes must not be changed.
func (e *Engine) ReadFile(ctx context.Context, name string) ([]byte, error) {
	if !e.files.known() { // the first instance brings them
		if err := e.Do(ctx, func(*Toolkit) error { return nil }); err != nil {
			return nil, err
		}
	}
	b, ok := e.files.data["/"+name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return b, nil
}

// A TrapError says that the module gave up in the middle of a call: for the
// engraver this means input that it cannot read.
type TrapError struct {
	Call string // the function that was called
	Err  error
	Log  string // what the module had said before
}

func (e *TrapError) Error() string {
	first, _, _ := bytes.Cut([]byte(e.Err.Error()), []byte("\n"))
	s := fmt.Sprintf("the engraver gave up in %s: %s", e.Call, first)
	if e.Log != "" {
		s += " (" + e.Log + ")"
	}
	return s
}

func (e *TrapError) Unwrap() error { return e.Err }
