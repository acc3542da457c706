// Package workbook puts a lesson on paper: one PDF file with a title page, for
// each level its words, pictures, score and drills, a glossary and the credits.
//
// It lays out what others say and draw. Words come from the lesson, notes from
// the scores, pages of music from the engraver; nothing is taught here that they
// do not say. The same input gives the same bytes.
package workbook
