// Package machine knows what is otherwise on each system: how the program was started,
// where the user's documents are, which language the system speaks. It owns no files and
// makes nothing; it stands alone, so that it can be compiled for every system at once.
package machine

import (
	"io"
	"os"
)

// Terminal tells whether w is a terminal that a person looks at.
func Terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	st, err := f.Stat()
	if err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return false
	}
	null, err := os.Stat(os.DevNull) // a device as well, and nobody looks at it
	return err != nil || !os.SameFile(st, null)
}
