// Package notate decides how sounding notes are written: bars filled with note
// values, dots, ties, tuplets and rests; voices, beams, stems, accidentals,
// clefs, 8va lines; where each sign and chord symbol stands. Its result, a
// Page, is what an engraver would copy, with no file format in it.
//
// It changes nothing that sounds and refuses to know why a note is there. Where
// a rhythm cannot be written with the values of print (shorter than a 64th, or
// in no usual tuplet), the nearest one is written and a Problem says so.
//
// Sources: W3C MusicXML 4.0 for what a file can say; the rules of rhythm,
// beaming and accidentals are common practice of music engraving, no source,
// except where a function names one.
package notate
