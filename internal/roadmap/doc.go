// Package roadmap is what readers of sheets share: the order in which a page with
// repeats, endings and jumps is played, the bars of the music behind the bars of the
// page, and the sections that bars and marks make. It knows no file format.
package roadmap
