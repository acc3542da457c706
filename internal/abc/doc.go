// Package abc reads lead sheets written in the ABC music notation, version 2.1
// (abcnotation.com, "The abc music standard 2.1", December 2011), and writes them.
//
// It owns the syntax of ABC (fields, music code, tunes in a file, text escapes)
// and what that syntax means for one melody with chord symbols: the result is a
// leadsheet.Song in playing order. It refuses everything that is not such a
// sheet and keeps quiet about nothing: what is dropped, mended or guessed is a
// placed Problem.
//
// The work is done in four steps, one file or two each:
//
//	source.go, text.go  bytes to lines of text, tunes, escapes
//	field.go, key.go …  information fields: what T:, M:, K: … say
//	scan.go             music code to tokens with line and column
//	build.go, bar.go    tokens to written bars: lengths, accidentals, tuplets
//	play.go, chord.go   written bars to the song in playing order
package abc
