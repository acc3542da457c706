package gradatim

import (
	"gradatim/internal/perform"
	"gradatim/internal/words"
	"gradatim/score"
)

// Playing is a score as a take plays it, moment by moment: its Notes with the seconds at
// which their keys go down and come up, and the Timing that maps bars and beats to seconds.
// What Record writes of the same score and take keeps to it. Its fields: go doc
// gradatim/internal/perform.Performance.
type Playing = perform.Performance

// Play says when what is played. The error is a leadsheet.Problems where the score cannot
// be played so.
func Play(s score.Score, t Take) (Playing, error) {
	p, err := perform.Perform(s, t.options())
	w := words.Must(words.Default)
	p.Problems = w.Problems(p.Problems)
	return p, w.Err(err)
}
