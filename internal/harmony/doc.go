// Package harmony reads a song as a musician does before playing a note of it:
// its key, what each chord does in the key and where it leads, where the phrases
// end and how, what each melody note is to its chord, where there is room for an
// answer, and which notes may be added to a chord without hurting the tune.
//
// Everything is a pure function of a leadsheet.Song, linear in its length, in
// integers, with every tie broken by a stated order. Facts stand beside the song
// and never inside it: a Role is found by the index of its melody note, a Span
// points back to the chord mark it came from. The package knows no piano and no
// levels.
package harmony
