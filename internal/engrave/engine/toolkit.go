package engine

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"

	"gradatim/internal/engrave/module"

	"github.com/tetratelabs/wazero"
	"github.com/tetratelabs/wazero/api"
	"github.com/tetratelabs/wazero/experimental"
)

// Toolkit is one instance of the engraver. It belongs to one goroutine at a
// time; Engine.Do hands it out.
type Toolkit struct {
	ctx    context.Context // of the call to Engine.Do
	inst   api.Module
	mem    api.Memory
	room   *memory // behind mem
	open   openFiles
	self   uint64 // the toolkit object inside the module
	log    []string
	broken bool

	// The stop flag in the module's memory is written while the module runs,
	// and memory moves when it grows: mu orders the two.
	mu   sync.Mutex
	stop bool
}

type toolkitKey struct{}

// The import functions find their instance through the context of the call.
func toolkitOf(ctx context.Context) *Toolkit { return ctx.Value(toolkitKey{}).(*Toolkit) }

func (e *Engine) instantiate(ctx context.Context) (*Toolkit, error) {
	t := &Toolkit{ctx: ctx, open: newOpenFiles(e.files)}
	if space := mapped(uint64(e.memory)); space != nil {
		t.room = &memory{space: space, used: true}
		ctx = experimental.WithMemoryAllocator(ctx, experimental.MemoryAllocatorFunc(func(_, _ uint64) experimental.LinearMemory { return t.room }))
	}
	// The module writes its files to the first instance; all are equal.
	m, err := e.runtime.InstantiateModule(context.WithValue(ctx, toolkitKey{}, t), e.code,
		wazero.NewModuleConfig().WithName("").WithStartFunctions())
	if err != nil {
		t.room.Free()
		t.room.release()
		return nil, err
	}
	t.inst, t.mem = m, m.Memory()
	if _, err := t.call("__wasm_call_ctors"); err != nil {
		t.close()
		return nil, err
	}
	if t.self, err = t.call("vrvToolkit_constructor"); err != nil {
		t.close()
		return nil, err
	}
	return t, nil
}

// use calls f with the toolkit, and stops the module's loops when the context
// ends before.
func (t *Toolkit) use(ctx context.Context, f func(*Toolkit) error) error {
	if !t.room.hold() {
		t.broken = true
		return errClosed
	}
	defer t.room.release()
	t.ctx = ctx
	defer func() { t.ctx = nil }()
	done := make(chan struct{})
	unwatch := context.AfterFunc(ctx, func() {
		defer close(done)
		t.mu.Lock()
		defer t.mu.Unlock()
		t.stop = true
		t.mem.WriteByte(module.StopFlag, 1)
	})
	err := f(t)
	if !unwatch() { // it has started: let it finish, and do not use the instance again
		<-done
		t.broken = true
	}
	return err
}

// grow adds pages of memory, and keeps a stop flag that is up.
func (t *Toolkit) grow(pages uint32) bool {
	t.mu.Lock()
	defer t.mu.Unlock()
	_, ok := t.mem.Grow(pages)
	if t.stop {
		t.mem.WriteByte(module.StopFlag, 1)
	}
	return ok
}

// close frees the instance, which nobody uses.
func (t *Toolkit) close() {
	t.inst.Close(context.Background())
	t.room.release()
}

var errClosed = errors.New("engine: it is closed")

func (t *Toolkit) size() uint32 { return t.mem.Size() }

// call calls an export. Any error leaves the instance broken.
func (t *Toolkit) call(name string, args ...uint64) (uint64, error) {
	f := t.inst.ExportedFunction(name)
	if f == nil {
		t.broken = true
		return 0, fmt.Errorf("engine: the module has no function %s", name)
	}
	if t.broken {
		return 0, errors.New("engine: the instance is broken")
	}
	out, err := f.Call(context.WithValue(t.ctx, toolkitKey{}, t), args...)
	if err != nil {
		t.broken = true
		return 0, &TrapError{Call: strings.TrimPrefix(name, "vrvToolkit_"), Err: err, Log: strings.Join(t.log, "; ")}
	}
	if len(out) == 0 {
		return 0, nil
	}
	return out[0], nil
}

// withString calls an export of the toolkit with a string argument, which
// lives in the module's memory during the call.
func (t *Toolkit) withString(name, s string) (uint64, error) {
	if strings.IndexByte(s, 0) >= 0 {
		return 0, errors.New("engine: a text with a zero byte")
	}
	p, err := t.call("malloc", uint64(len(s))+1)
	if err != nil {
		return 0, err
	}
	if uint32(p) == 0 || !t.mem.WriteString(uint32(p), s) || !t.mem.WriteByte(uint32(p)+uint32(len(s)), 0) {
		t.broken = true
		return 0, errors.New("engine: no memory for the text")
	}
	r, err := t.call(name, t.self, p)
	if err != nil {
		return 0, err
	}
	_, err = t.call("free", p)
	return r, err
}

// text reads a zero-terminated string that an export returned.
func (t *Toolkit) text(p uint64, err error) (string, error) {
	if err != nil {
		return "", err
	}
	return string(t.bytesAt(uint32(p))), nil
}

// bytesAt is a view of the zero-terminated bytes at p.
func (t *Toolkit) bytesAt(p uint32) []byte {
	size := t.mem.Size()
	if p == 0 || p >= size {
		return nil
	}
	b, _ := t.mem.Read(p, size-p)
	if i := bytes.IndexByte(b, 0); i >= 0 {
		return b[:i]
	}
	return nil
}

// Load sets options, given as a JSON object, and reads a MusicXML or MEI file.
// Ids that the engraver invents start anew, so that a used instance gives the
// same bytes as a new one. What it does not understand of the options it
// ignores in silence: check them before.
func (t *Toolkit) Load(options, file string) error {
	t.log = t.log[:0]
	if _, err := t.call("vrvToolkit_resetOptions", t.self); err != nil {
		return err
	}
	if _, err := t.withString("vrvToolkit_setOptions", options); err != nil {
		return err
	}
	if _, err := t.call("vrvToolkit_resetXmlIdSeed", t.self, api.EncodeI32(idSeed)); err != nil {
		return err
	}
	ok, err := t.withString("vrvToolkit_loadData", file)
	if err != nil {
		return err
	}
	if uint32(ok)&0xff == 0 { // a C++ bool: the upper bits mean nothing
		return &LoadError{Log: strings.Join(t.log, "; ")}
	}
	return nil
}

// idSeed starts the ids that the engraver invents. Any number but 0 does, which
// would ask for a random one.
const idSeed = 1

// A LoadError says that the engraver refused a file; the instance is fine.
type LoadError struct{ Log string }

func (e *LoadError) Error() string {
	if e.Log == "" {
		return "the engraver refused the file"
	}
	return "the engraver refused the file: " + e.Log
}

// PageCount returns the number of pages of the loaded file.
func (t *Toolkit) PageCount() (int, error) {
	n, err := t.call("vrvToolkit_getPageCount", t.self)
	return int(int32(n)), err
}

// SVG returns a page, counted from 1.
func (t *Toolkit) SVG(page int) (string, error) {
	return t.text(t.call("vrvToolkit_renderToSVG", t.self, api.EncodeI32(int32(page)), 0))
}

// Version returns the engraver's version.
func (t *Toolkit) Version() (string, error) {
	return t.text(t.call("vrvToolkit_getVersion", t.self))
}

// AvailableOptions returns the engraver's own description of its options, as
// JSON.
func (t *Toolkit) AvailableOptions() (string, error) {
	return t.text(t.call("vrvToolkit_getAvailableOptions", t.self))
}

// Log returns what the engraver said since the last Load.
func (t *Toolkit) Log() []string { return t.log }

func (t *Toolkit) say(b []byte) {
	const lines = 64 // of a broken file there can be any number
	if s := strings.TrimSpace(string(b)); s != "" && len(t.log) < lines {
		t.log = append(t.log, s)
	}
}
