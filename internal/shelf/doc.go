// Package shelf is a catalogue of tunes: their sheets as they were handed in, what was
// understood of them, what may be done with them where, what a teacher has chosen, and
// what was made of them. It stands in a folder, on an embedded database, or on PostgreSQL
// with an object store; the rows and files are the same.
//
// It knows no music: whoever puts a tune on the shelf brings its [Facts], and whoever makes
// something of one puts files there. What it owns is that nothing is lost or changed
// unseen. Files are named by their hash. What a person writes is a [Revision], and a new
// one takes nothing away from those before it. What is published is checked against the
// [Right] of its territory in the transaction that records it.
//
// Errors that a reader can do something about are leadsheet.Problems.
package shelf
