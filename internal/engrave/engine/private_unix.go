//go:build unix

package engine

import (
	"io/fs"
	"os"
	"syscall"
)

// private tells whether a folder is this user's and nobody else may write to it.
func private(st fs.FileInfo) bool {
	own, ok := st.Sys().(*syscall.Stat_t)
	return ok && int(own.Uid) == os.Geteuid() && st.Mode().Perm()&0o022 == 0
}
