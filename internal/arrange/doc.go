// Package arrange turns a lead sheet into a piano page at one level. It is the
// only room that decides on a note, and the decision is always the same: the
// cheapest whole that breaks no rule of playing.
//
// The stages follow each other, each handing on a whole value:
//
//	setting   tempo, feel, and the octave that leaves the hands room
//	harmony   which chords: the sheet's, painted for the level, or rewritten
//	line      the tune, here and there half a beat early
//	cells     bars cut at every change of chord
//	dress     one left-hand texture and one right-hand treatment a phrase
//	voice     which notes, both hands together: an exact search
//	edit      single notes that the teacher changed
//	adorn     ornaments, fills and runs where there is room
//	page      the finished score with an Origin on every note
//
// A Plan is all that comes before voice. It tells what any other chord or figure would
// cost the whole page, and follows a teacher's choice without starting over.
//
// The package reads no files, draws nothing and knows no clock.
package arrange
