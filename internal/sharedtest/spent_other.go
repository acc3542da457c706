//go:build !unix

package sharedtest

import "time"

var began = time.Now()

// Spent is what the clock shows, where the system's own figures are not asked for.
func Spent() time.Duration { return time.Since(began) }
