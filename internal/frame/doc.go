// Package frame puts an introduction before a tune and a tag after it: bars of the song
// that belong to the page alone, with chords, and with notes where the tune is quoted or
// a voice leads to the end. It owns what these are made of, and knows nothing of how they
// are played.
package frame
