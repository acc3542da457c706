// Package engrave puts a MusicXML piano score on pages and writes them as SVG,
// PDF and PNG.
//
// The notes are drawn by an engraving library, which runs as a WebAssembly
// module inside the program (package engine), behind a wall: what comes out
// are drawings (package vector). This package owns everything on both sides of
// it: a copy of the score in the form that the library needs (prepare.go),
// which bars make a system and which systems a page (plan.go), the composition
// of pages with title and foot (compose.go), chord symbols and degrees
// (chord.go), pictures of the keyboard (keyboard.go), and where each note came
// to stand (Document.Boxes).
//
// It refuses scores with placed Problems, and does not know why a note is
// there. Lengths are millimetres; sizes of text are the em.
package engrave
