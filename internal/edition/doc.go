// Package edition makes a tune's edition: the tune in one key, as a page for each
// level. It has the pages arranged, judged by the referee and fingered, mends what
// fails, and sees to it that every level asks more than the one below.
//
//	edition.go  which key, which chords, which levels: the whole way
//	key.go      the tune moved to the key asked for
//	climb.go    the levels, each harder than the one below
//	judge.go    one page: audited, made plainer where it fails, fingered
//	lesson.go   what a lesson is written from
//
// Each file calls only those below it. The package decides on no note itself.
package edition
