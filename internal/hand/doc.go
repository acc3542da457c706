// Package hand is a hand at a piano: what it reaches on real keys, how fast it
// moves, and which fingers play which notes.
//
// Lengths are integers of a hundredth of a millimetre, times integers of a
// microsecond, costs plain integers: no value here depends on the processor.
// The package knows scores (whose hand plays what) but neither levels nor songs.
package hand
