// Package grade says how hard a two-staff piano score is, where, and why, and
// which techniques it asks for. It reads the score alone: not where it came from,
// nor the Origin of its notes, so that a teacher's own page is judged by the same
// measure as one of ours.
//
// Every quantity is an integer (thousandths, tenths), logarithms included, so
// that a rating is the same number on every machine.
package grade
