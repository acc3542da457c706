package sharedtest

import (
	"errors"
	"os"
	"syscall"
	"testing"
)

// Disk is a folder with a small disk of its own, of a size as "8m". It needs the right to mount one;
// under -short the test is skipped.
func Disk(t testing.TB, size string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("mounts a disk")
	}
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		if os.Getuid() == 0 && !errors.Is(err, syscall.EPERM) {
			Absent(t, "no disk can be mounted: "+err.Error())
		}
		t.Skipf("no disk can be mounted: %v", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// ResizeDisk gives a Disk another size, with what is on it.
func ResizeDisk(t testing.TB, dir, size string) {
	t.Helper()
	if err := syscall.Mount("", dir, "", syscall.MS_REMOUNT, "size="+size); err != nil {
		t.Fatal(err)
	}
}
