//go:build unix

package press

import (
	"os"
	"os/signal"
	"syscall"
)

func notify(c chan os.Signal) { signal.Notify(c, syscall.SIGTERM) }
