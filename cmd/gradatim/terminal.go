package main

import (
	"fmt"
	"io"
	"os"
	"time"
)

// terminal tells whether w is a terminal that a person looks at.
func terminal(w io.Writer) bool {
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

// progress shows on a terminal that something is going on once it has taken a
// second. The function returned ends it.
func (sh *shell) progress(what string) (stop func()) {
	if !terminal(sh.err) {
		return func() {}
	}
	end := make(chan struct{})
	gone := make(chan struct{})
	go func() {
		defer close(gone)
		t := time.NewTicker(time.Second)
		defer t.Stop()
		for n := 1; ; n++ {
			select {
			case <-end:
				if n > 1 {
					fmt.Fprint(sh.err, "\r\x1b[K")
				}
				return
			case <-t.C:
				fmt.Fprintf(sh.err, "\r%s … %d s", what, n)
			}
		}
	}()
	return func() { close(end); <-gone }
}
