// Package sight reads a piano score as a player at sight does: what each hand
// strikes, moment by moment, at its place in the bar and under the chord printed
// above it. Notes, marks, voices, bars and chord symbols are all that it looks
// at. It never asks why a note is there, and names no technique.
package sight
