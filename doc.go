// Package gradatim turns a lead sheet into a ladder of graded two-hand piano
// arrangements, each audited, and each note explained. It knows no flags, no
// network and no clock.
package gradatim
