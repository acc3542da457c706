package main

import (
	"io"
	"os"
)

// terminal tells whether w is a terminal that a person looks at.
func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}
