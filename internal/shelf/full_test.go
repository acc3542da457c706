//go:build linux

package shelf

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"gradatim/internal/sharedtest"
)

// TestFullDisk: where the disk is full nothing is written by halves, and with room again
// the work goes on. It needs the right to mount a small disk.
func TestFullDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("mounts a disk")
	}
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=3m"); err != nil {
		if os.Getuid() == 0 && !errors.Is(err, syscall.EPERM) {
			sharedtest.Absent(t, "no disk can be mounted: "+err.Error())
		}
		t.Skipf("no disk can be mounted: %v", err)
	}
	defer func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	}()
	ctx := context.Background()
	at, err := ParsePlace(filepath.Join(dir, "shelf"), "", false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := Create(ctx, at, Config{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	n := 0
	for ; n < 5000; n++ {
		if _, err = s.Add(ctx, sheetOf(n)); err != nil {
			break
		}
	}
	if code(err) != "shelf-broken" {
		t.Fatalf("after %d tunes: %v", n, err)
	}
	if got, err := s.Count(ctx, Query{}); err != nil || got != n {
		t.Errorf("%d tunes, %v; %d are wanted", got, err, n)
	}
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT, "size=16m"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Add(ctx, sheetOf(n)); err != nil {
		t.Errorf("with room again: %v", err)
	}
	if c, err := s.Check(ctx); err != nil || len(c.Problems) > 0 || c.Tunes != n+1 {
		t.Errorf("%+v, %v", c, err)
	}
}
