package gradatim

import (
	"context"

	"gradatim/internal/musicxml"
	"gradatim/internal/notate"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// ReadScore reads a piano score from MusicXML, plain or packed: a page of
// a ladder, or anybody's score on two staves; or from a MIDI file, which is written down
// for two hands. The Problems tell what was dropped or
// guessed; name is for their places. The error is a leadsheet.Problems that holds at
// least one Error; then there is no score.
func ReadScore(name string, data []byte) (score.Score, leadsheet.Problems, error) {
	w := words.Must(words.Default)
	if err := foreign(name, data); err != nil {
		return score.Score{}, nil, w.Err(err)
	}
	if midi(data) {
		s, told, err := writtenDown(name, data, 0)
		return s, w.Problems(told), w.Err(err)
	}
	s, told, err := musicxml.ReadScore(data, musicxml.Options{File: name})
	return s, w.Problems(told), w.Err(err)
}

// WriteScore writes a piano score as a MusicXML 4.0 file, which ReadScore reads. The
// Problems tell what had to be written otherwise than it sounds. The error is a
// leadsheet.Problems where the score cannot be written, or the context's.
func WriteScore(ctx context.Context, s score.Score) ([]byte, leadsheet.Problems, error) {
	f, err := unlessEnded(ctx, func() (written, error) {
		page, told := notate.Of(s)
		w := words.Must(words.Default)
		if err := told.Err(); err != nil {
			return written{}, w.Err(err)
		}
		if err := context.Cause(ctx); err != nil { // each takes long for a long score
			return written{}, err
		}
		return written{musicxml.WritePage(page), w.Problems(told)}, nil
	})
	return f.data, f.told, err
}

// written is a file with what is to be told of it.
type written struct {
	data []byte
	told leadsheet.Problems
}

// Excerpt cuts bars out of a score, by their printed numbers; to 0 means the end.
// They are written as they stand in the whole, in its clefs and octave lines. The
// error is a leadsheet.Problems where the score has no such bars or cannot be
// written.
func Excerpt(s score.Score, from, to int) (score.Score, error) {
	settled, problems := notate.Settled(s)
	if err := problems.Err(); err != nil {
		return score.Score{}, words.Must(words.Default).Err(err)
	}
	first, last, ok := settled.Range(from, to)
	if !ok {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "bars-range", "From", from, "To", to, "First", max(s.Bars[0].Number, 1), "Last", s.Bars[len(s.Bars)-1].Number)
		return score.Score{}, words.Must(words.Default).Problems(ps)
	}
	return settled.Excerpt(first, last), nil
}
