// Package account tells what the program knows of its work, as data for other programs:
// JSON in the shapes of docs/formats.md, whose version it owns. It tells what was
// understood of a sheet (as text for a reader, too), why every note and chord of a page
// is there, and what each level of a ladder uses and keeps to; and it reads back from the
// account of a page what its notes are for.
//
// It finds nothing out: what a chord is called or why a note is there it asks of those
// who decided, and it writes no files.
package account
