package technique

import "gradatim/theory"

type degree = theory.Degree

// The degrees of chords by their usual names: S is sharp, B flat, BB twice flat.
var (
	deg1   = degree{Number: 1}
	deg3   = degree{Number: 3}
	degB3  = degree{Number: 3, Alter: -1}
	deg5   = degree{Number: 5}
	degB5  = degree{Number: 5, Alter: -1}
	degS5  = degree{Number: 5, Alter: 1}
	deg6   = degree{Number: 6}
	deg7   = degree{Number: 7}
	degB7  = degree{Number: 7, Alter: -1}
	degBB7 = degree{Number: 7, Alter: -2}
	deg9   = degree{Number: 9}
	degB9  = degree{Number: 9, Alter: -1}
	degS9  = degree{Number: 9, Alter: 1}
	deg11  = degree{Number: 11}
	degS11 = degree{Number: 11, Alter: 1}
	deg13  = degree{Number: 13}
	degB13 = degree{Number: 13, Alter: -1}
)
