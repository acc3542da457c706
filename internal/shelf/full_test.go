//go:build linux

package shelf

import (
	"context"
	"path/filepath"
	"testing"

	"gradatim/internal/sharedtest"
)

// TestFullDisk: where the disk is full nothing is written by halves, and with room again
// the work goes on. It needs the right to mount a small disk.
func TestFullDisk(t *testing.T) {
	dir := sharedtest.Disk(t, "3m")
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
	if code(err) != "shelf-full" {
		t.Fatalf("after %d tunes: %v", n, err)
	}
	if got, err := s.Count(ctx, Query{}); err != nil || got != n {
		t.Errorf("%d tunes, %v; %d are wanted", got, err, n)
	}
	sharedtest.ResizeDisk(t, dir, "16m")
	if _, err := s.Add(ctx, sheetOf(n)); err != nil {
		t.Errorf("with room again: %v", err)
	}
	if c, err := s.Check(ctx); err != nil || len(c.Problems) > 0 || c.Tunes != n+1 {
		t.Errorf("%+v, %v", c, err)
	}
}
