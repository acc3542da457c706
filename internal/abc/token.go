package abc

import "gradatim/theory"

// kind says what a token of music code is.
type kind uint8

const (
	tokNote       kind = iota + 1
	tokRest            // z, x
	tokBarRest         // Z, X: whole bars
	tokChordOpen       // [ before notes struck together
	tokChordClose      // ] and the length after it
	tokGraceOpen       // {
	tokGraceClose      // }
	tokBar             // a bar line of any form
	tokEnding          // [1, |2, [1,3
	tokQuote           // "Am", "^slowly": a chord symbol or an annotation
	tokDecoration      // !trill!, ~, .
	tokTuplet          // (3, (5:4:6
	tokBroken          // >, <<
	tokTie             // -
	tokSlur            // ( or )
	tokOverlay         // &
	tokField           // [K:G]
	tokSpace           // blanks, y
	tokJunk            // what ABC does not have here
)

// token is one sign of music code.
type token struct {
	kind kind
	pos  place
	text string // of a quote, decoration, field value or junk; a bar line as written

	// A note.
	letter theory.Letter
	octave int
	alter  int8
	signed bool // an accidental is written

	num, den int   // length as a multiple of the unit: of a note, rest or chord
	nums     []int // p, q, r of a tuplet (0: left out); passes of an ending
	n        int   // strength of a broken rhythm, negative for <; bars of a rest
	bar      barLine
	field    byte // letter of an inline field
}

// place is a position in the file.
type place struct{ line, col int }

// barLine is the meaning of a bar line.
type barLine struct {
	closes int // passes of the repeat that ends here; 0: none ends
	opens  int // passes of the repeat that starts here; 0: none starts
	double bool
	plain  bool // a single line
}
