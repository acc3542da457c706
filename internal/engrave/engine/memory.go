package engine

import "sync"

// memory is the room of one instance; nil where it lives in the Go heap.
//
// Problem: an instance begins with 128 MiB, of which it writes a part, and grows. As a slice of
// the Go heap that is counted whole, so the collector waits for as much again before it
// collects; growing moves it, and for that time there are two; what is thrown away stays until
// the next collection. Here it is address space that the system fills as it is written: it
// grows in its place, and is gone when the instance is.
//
// The runtime frees an instance's memory when it is closed, also under a call that runs. So the
// memory is given back by whichever comes last, the runtime or the call that uses it.
type memory struct {
	mu    sync.Mutex
	space []byte // all that the instance may ever have; nil: given back
	open  uint64 // bytes of it that may be written
	used  bool   // by a call
	freed bool   // the runtime needs it no more
}

// Reallocate returns the first bytes of the room; nil where there are not so many.
func (m *memory) Reallocate(size uint64) []byte {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.freed || size > uint64(len(m.space)) || size > m.open && !allow(m.space[m.open:size]) {
		return nil
	}
	m.open = max(m.open, size)
	return m.space[:size:size]
}

// Free tells that the runtime needs the room no more.
func (m *memory) Free() {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.freed = true
	m.giveBack()
}

// hold keeps the room until release is called; false: it is gone.
func (m *memory) hold() bool {
	if m == nil {
		return true
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.used = m.space != nil
	return m.used
}

func (m *memory) release() {
	if m == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.used = false
	m.giveBack()
}

func (m *memory) giveBack() {
	if m.freed && !m.used && m.space != nil {
		unmap(m.space)
		m.space = nil
	}
}
