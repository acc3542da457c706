// Package proof reads a lead sheet for errors of the sheet itself: chords that deny the
// tune, signatures that the notes deny, bars of the wrong length, endings that were lost.
// It owns what is suspected, how sure that is, and what the song is once a suspicion is
// taken. It changes nothing by itself and finds no words.
//
// Problem: real sheets have errors, and a page that obeys them is wrong. Source: common
// practice of proof-readers, no source; the weights were set by hand on the shared sheets
// (docs/proofreading.md has the figures). Objective: each error that can be heard is told,
// and few others: what a musician may have meant stays. A printed chord is weighed against
// what one slip of a pen or a key could have made it from: how long the tune denies it,
// what it does in the key between its neighbours, and what stands where the same tune
// comes again. Cost: one pass over the notes of each chord for each of some dozen readings.
// Rejected: finding the likeliest chords for the tune and telling every other one (package
// harmonist): of the time half of a good sheet differs from them.
package proof
