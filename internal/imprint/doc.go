// Package imprint reads what a teacher gives to a lesson of her own: the name and the
// look of her studio, her words for the whole, for levels and sections, what is left out
// and in which order the levels come, her recordings and links. It says what is wrong
// with her file, all of it, and where.
//
// It refuses music: no note, no chord and no finger is decided here.
package imprint
