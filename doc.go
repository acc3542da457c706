// Package gradatim turns a lead sheet into a ladder of graded two-hand piano
// arrangements, each audited, and each note explained.
//
//	song, err := gradatim.Read("tune.abc", data, 0)
//	pages, err := gradatim.Ladder(ctx, song, gradatim.Options{})
//
// It is the façade that the command line and everything else share; it knows no
// flags, no network and no clock.
package gradatim
