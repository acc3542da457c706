// Package score is a piano page as a value: two hands, voices, notes with ids
// and marks, chord symbols, bars and directions. Every note of our own carries
// an Origin that says why it is there; of a score read from a file at most its
// Kind and its melody note are known.
//
// Notes are sounding notes: a note held over a bar line is one Note, and how it
// is written (ties, dots, beams, rests, accidentals) is decided by whoever prints
// it. The package does not know how notes were chosen.
package score
