package module

import (
	"crypto/sha256"
	"encoding/hex"
)

// Sparing leaves out work of which no page shows anything.
//
// Problem: whatever the library passes from one part of a page to the next carries the clefs
// and keys in force, and with them a tuning for MIDI, which nobody here asks it for. The
// tuning's constructor writes twelve equal steps as a text and reads that with regular
// expressions: a millisecond each time, six times for the smallest score, a third of the time
// of a lesson's pages.
//
// What is done: the function, known by the sum of its code, is replaced by one that clears
// the object. Its strings and lists are then empty ones, in the layout of the C++ library
// of the package, which are copied and freed as others are.
//
// Only the code of the pinned release is known so; of another one nothing is left out.
//
// Rejected: finding the function by what it does, which may be right in one release and
// wrong in the next.

// tuning is the sum of the constructor's code in the pinned package.
const tuning = "3fabb242a04828e311c8f04474644dd969b6b77ad1ae19f47de310807b488efd"

// cleared is, without locals: this, 0, size, memory.fill, this, end. The object that holds a tuning
// has its next field 10416 bytes behind it.
var cleared = []byte{0, 0x20, 0, 0x41, 0, 0x41, 0xb0, 0xd1, 0, 0xfc, 0x0b, 0, 0x20, 0, opEnd}

// spare returns the code of a function, or what stands for it.
func spare(code []byte) []byte {
	if sum := sha256.Sum256(code); hex.EncodeToString(sum[:]) == tuning {
		return cleared
	}
	return code
}
