package gradatim

import (
	"context"

	"gradatim/internal/account"
	"gradatim/internal/edition"
	"gradatim/internal/pack"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// PageLesson is the lesson of one page for two hands, anybody's, as it stands: nothing in
// it is arranged or changed.
type PageLesson struct {
	studio *Studio
	job    Job
	in     pack.Input
}

// PageLesson reads a job whose Sheet is a piano score in MusicXML. Of its options it
// takes the hand, the language, the fingers, and how things are printed and heard; levels,
// keys and the others are for what is arranged. The error is a leadsheet.Problems, or the
// context's.
func (st *Studio) PageLesson(ctx context.Context, job Job) (*PageLesson, error) {
	if err := job.Check(); err != nil {
		return nil, err
	}
	w := words.Must(job.Language)
	s, told, err := ReadScore(job.Sheet.Name, job.Sheet.Data)
	if err != nil {
		return nil, w.Err(err)
	}
	p, err := edition.Standing(s, job.Sheet.Name, job.Hand.profile(), job.Language)
	if err != nil {
		return nil, err
	}
	if !job.Rights.none() {
		if p.Song, err = ReadRights(job.Rights.Name, job.Rights.Data, p.Song); err != nil {
			return nil, w.Err(err)
		}
	}
	p.Song.Problems = append(w.Problems(told), p.Problems...)
	p.Song.Problems.Sort()
	l := &PageLesson{studio: st, job: job}
	own, err := job.imprint([]int{p.Level.Number})
	if err != nil {
		return nil, w.Err(err)
	}
	l.in = pack.Input{Name: job.Stem(), Song: p.Song, Hand: job.Hand.profile(), Language: job.Language, Program: program(), Own: job.own(own)}
	ed := pack.Edition{Key: p.Song.Key}
	if ed.Lesson, err = teach.Prepare(ctx, edition.Lesson(ctx, []edition.Page{p}, job.Hand.profile())); err != nil {
		return nil, err
	}
	why, err := account.Of(p)
	if err != nil {
		return nil, err
	}
	printed := p.Score
	printed.Chords = s.Chords // those that are heard are for the words beside it
	ed.Pages = []pack.Page{{Level: p.Level, Score: p.Score, Printed: job.Fingers.shown(printed, p.Level.Fingers), Account: append(why, '\n')}}
	l.in.Editions = []pack.Edition{ed.Ordered(own.Order)}
	return l, nil
}

// Lesson is all that is taught of the page, as data.
func (l *PageLesson) Lesson() Lesson { return l.in.Editions[0].Lesson }

// Song is what was understood of the page's tune and chords; its Problems tell what was
// dropped or guessed, and as which level the page is taught.
func (l *PageLesson) Song() leadsheet.Song { return l.in.Song }

// Publishable says what is missing before the lesson may be published.
func (l *PageLesson) Publishable() leadsheet.Problems {
	return words.Must(l.job.Language).Problems(Publishable(l.in.Song))
}

// Pack puts the lesson into a store, as Session.Pack does.
func (l *PageLesson) Pack(ctx context.Context, to Store, progress func(Progress)) (Report, error) {
	r, err := l.studio.pack(ctx, to, l.in, l.job, progress)
	return r, words.Must(l.job.Language).Err(leadsheet.InFile(err, l.job.Sheet.Name))
}
