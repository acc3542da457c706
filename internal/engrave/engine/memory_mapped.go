//go:build (linux || darwin || freebsd) && (amd64 || arm64)

package engine

import "syscall"

// mapped reserves address space that nobody may write yet; nil where the system has none.
func mapped(size uint64) []byte {
	b, err := syscall.Mmap(-1, 0, int(size), syscall.PROT_NONE, syscall.MAP_ANON|syscall.MAP_PRIVATE)
	if err != nil {
		return nil
	}
	return b
}

// allow lets a stretch of what mapped gave be written; it is zero.
func allow(b []byte) bool {
	return syscall.Mprotect(b, syscall.PROT_READ|syscall.PROT_WRITE) == nil
}

func unmap(b []byte) { _ = syscall.Munmap(b) } // of what mapped gave it cannot fail
