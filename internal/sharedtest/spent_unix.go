//go:build unix

package sharedtest

import (
	"syscall"
	"time"
)

// Spent is the processor time of this process, user and system: on a machine that others use as well
// the clock shows theirs.
func Spent() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
