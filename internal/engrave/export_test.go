package engrave

import "testing"

// Shared is the engraver of all tests of the package.
func Shared(t testing.TB) *Engraver { return engraver(t) }

// Collisions lists what touches what it must not.
func (d *Document) Collisions() []string { return d.collisions() }
