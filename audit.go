package gradatim

import (
	"context"
	"strconv"

	"gradatim/internal/audit"
	"gradatim/internal/edition"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// AuditOptions say what a score is judged by. The zero value is ready.
type AuditOptions struct {
	Song *leadsheet.Song // the lead sheet, in the score's key; nil: the top line is the tune
	Hand Hand            // the player
	// Moves is by how much a note of the tune may begin later or earlier than on the sheet:
	// a level with an easier rhythm says so in its file (a sixteenth at level 1). 0: none
	// comes later.
	Moves theory.Dur
}

// Outline returns a song with its tune in outline, as pages of the level have it whose job
// asks for that (Job.Outline): what they are to be judged by. Own levels are as in
// Job.OwnLevels. The error is a leadsheet.Problems where there is no such level.
func Outline(song leadsheet.Song, level int, own ...File) (leadsheet.Song, error) {
	built, err := levelsWith(own)
	if err != nil {
		return song, err
	}
	levels, err := ladder.Select(strconv.Itoa(level), built)
	if err != nil {
		return song, err
	}
	song, _ = edition.Outline(song, harmony.Analyse(song), levels[0])
	return song, nil
}

// Violation is one breach of a rule of playing: a Problem with its place and a way out.
type Violation struct {
	leadsheet.Problem
	At    theory.Dur // in the score as it is played
	Notes []string   // ids of the notes at fault
}

// MarshalJSON writes a Problem with the ids of the notes at fault as "notes"
// (docs/formats.md).
func (v Violation) MarshalJSON() ([]byte, error) { return audit.Violation(v).MarshalJSON() }

// Audit judges a piano score, ours or anybody's, by the rules of playing: are the bars
// full, is the tune kept and on top, can the hands reach and get there, does everything
// fit the printed chords? It returns every violation, ordered by time; none means that
// the score stands. The error is the context's.
func Audit(ctx context.Context, s score.Score, o AuditOptions) ([]Violation, error) {
	if err := context.Cause(ctx); err != nil {
		return nil, err
	}
	found := audit.Check(s, audit.Options{Song: o.Song, Hand: o.Hand.profile(), Moves: o.Moves})
	out := make([]Violation, len(found))
	for i, v := range found {
		v.Problem = words.Must(words.Default).Problem(v.Problem)
		out[i] = Violation(v)
	}
	return out, context.Cause(ctx)
}
