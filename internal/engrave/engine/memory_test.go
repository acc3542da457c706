package engine

import (
	"context"
	"errors"
	"runtime"
	"testing"
)

// TestMemoryOutside: what an instance has is no part of the Go heap, where it would be
// counted whole and collected late; and growing does not move it.
func TestMemoryOutside(t *testing.T) {
	if mapped(pageSize) == nil {
		t.Skip("this system maps no memory")
	}
	e := open(t)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	tk, err := e.instantiate(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer tk.close()
	runtime.ReadMemStats(&after)
	if size, got := int64(tk.size()), int64(after.HeapAlloc)-int64(before.HeapAlloc); size < 64<<20 || got > size/4 {
		t.Errorf("an instance of %d bytes takes %d of the heap", size, got)
	}
	at, _ := tk.mem.Read(0, 1)
	if !tk.grow(64) {
		t.Fatal("it does not grow")
	}
	if now, _ := tk.mem.Read(0, 1); &now[0] != &at[0] {
		t.Error("it moved")
	}
}

// TestMemoryGivenBack: the room is given back once, by whoever is last: the call that uses it
// or the engine that is closed. After that nobody is lent it.
func TestMemoryGivenBack(t *testing.T) {
	space := mapped(4 * pageSize)
	if space == nil {
		t.Skip("this system maps no memory")
	}
	m := &memory{space: space}
	b := m.Reallocate(pageSize)
	if !m.hold() || m.Reallocate(5*pageSize) != nil {
		t.Fatal("room for more than there is")
	}
	m.Free()
	b[0] = 1 // a call that still runs may write
	if m.space == nil {
		t.Error("given back under a call")
	}
	m.release()
	if m.space != nil || m.hold() || m.Reallocate(pageSize) != nil {
		t.Error("lent after the end")
	}
	m.release()
	m.Free()
}

// TestCloseUnderCall: an engine that is closed while a score is read ends with an error, or the
// call does its work; a later call finds it closed.
func TestCloseUnderCall(t *testing.T) {
	e, err := Open(t.Context(), Config{Module: code(t), CacheDir: DefaultCacheDir()})
	if err != nil {
		t.Fatal(err)
	}
	idle, err := e.instantiate(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	idle.room.release()
	err = e.Do(t.Context(), func(tk *Toolkit) error {
		if err := e.runtime.Close(context.Background()); err != nil {
			return err
		}
		_, err := tk.Version()
		tk.mem.WriteByte(tk.size()-1, 1)
		return err
	})
	t.Logf("closed under a call: %v", err)
	if idle.room == nil {
		return
	}
	e.idle <- idle
	if err := e.Do(t.Context(), func(*Toolkit) error { return nil }); !errors.Is(err, errClosed) {
		t.Errorf("lent after it was closed: %v", err)
	}
}
