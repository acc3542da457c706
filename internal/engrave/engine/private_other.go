//go:build !unix

package engine

import "io/fs"

// private: the user's cache folder belongs to the user on these systems.
func private(fs.FileInfo) bool { return true }
