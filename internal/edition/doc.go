// Package edition makes a tune's edition: the tune in one key, as a page for each
// level. It has the pages arranged, judged by the referee and fingered, mends what
// fails, and sees to it that every level asks more than the one below.
//
//	edition.go  which key, which chords, which levels: the whole way
//	key.go      the tune moved to the key asked for
//	sheet.go    the tune in the order of its page, folded where a level prints repeats once
//	climb.go    the levels, each harder than the one below
//	judge.go    one page: audited, made plainer where it fails, fingered
//	runners.go  what else a bar could be, and its locks
//	lesson.go   what a lesson is written from
//
// It decides on no note itself, knows no file format, and hands out no page that the
// referee has refused.
package edition
