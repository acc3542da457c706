// Package leadsheet says what a song is: one melody line with chord symbols, in
// playing order, with its metre, key, form, tempo, feel and rights. It also owns
// positions and Problems, so that everything that goes wrong anywhere can be
// placed by file, line, bar and beat.
//
// A Song is a whole, immutable value. Repeats are written out: bars, melody and
// chords stand in the order in which they are played, ties are joined (a tied
// note is one Note), and each bar remembers the written bar that it came from.
// Nothing here depends on the file format that a song was read from.
package leadsheet
