package main

import (
	"fmt"
	"time"

	"gradatim/internal/machine"
)

// progress shows on a terminal that something is going on once it has taken a
// second. The function returned ends it.
func (sh *shell) progress(what string) (stop func()) {
	if !machine.Terminal(sh.err) {
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
