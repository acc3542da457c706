// Package outline leaves of a tune what carries it: for a reader whose hands cannot run
// yet, and only where a teacher asks for it. It knows metre, chords and the roles of notes,
// no piano and no levels; what it returns is a song like any other, and says which bars
// have lost notes.
package outline
