package sharedtest

import (
	"os"
	"testing"
)

// Every says how much of a long test is to be run: every n-th of its cases, by
// default; every short-th under go test -short; all of them in make soak, which sets
// SOAK=1. A test that leaves cases out still spreads over all kinds of them.
func Every(short, n int) int {
	switch {
	case os.Getenv("SOAK") == "1":
		return 1
	case testing.Short():
		return short
	}
	return n
}
