// Package reduction takes a lead sheet out of a page for two hands: the line that is
// its tune, and the chords that it prints, or those that are heard where it prints
// none. It reads scores, whoever made them, and refuses to guess at formats, levels and
// what anybody meant beyond what stands there.
package reduction
