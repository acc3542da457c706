package gradatim

import (
	"gradatim/internal/musicxml"
	"gradatim/leadsheet"
	"gradatim/score"
)

// ReadScore reads a piano score from MusicXML, plain or packed: what Ladder's
// pages were written as, or anybody's score on two staves. The Problems tell what
// was dropped or guessed; name is for their places. The error is a
// leadsheet.Problems that holds at least one Error; then there is no score.
func ReadScore(name string, data []byte) (score.Score, leadsheet.Problems, error) {
	return musicxml.ReadScore(data, musicxml.Options{File: name})
}
