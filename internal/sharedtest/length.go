package sharedtest

import (
	"hash/fnv"
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

// Takes tells whether a case of a long test is among those to be run: by a hash of its
// name, about as many as Every says.
func Takes(name string, short, n int) bool {
	h := fnv.New32a()
	h.Write([]byte(name))
	return h.Sum32()%uint32(Every(short, n)) == 0
}
