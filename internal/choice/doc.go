// Package choice holds what a teacher has fixed by hand: a chord, a technique, a
// figure of one hand, a single note, a finger, the octave of the tune, a bar as it
// is. It reads and writes them as text (docs/formats.md) and moves them with the
// tune into another key. What cannot be kept is found and told by package arrange,
// which alone decides on notes.
package choice
