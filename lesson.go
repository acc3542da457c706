package gradatim

import (
	"context"
	"slices"

	"gradatim/internal/account"
	"gradatim/internal/edition"
	"gradatim/internal/pack"
	"gradatim/internal/perform"
	"gradatim/internal/teach"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Lesson is all that is taught of a tune, as data: of each level what to bring, what is
// new, chord by chord, drills, a practice plan, talking notes. It marshals to JSON. Its
// fields: go doc gradatim/internal/teach.Lesson.
type Lesson = teach.Lesson

// Lesson writes the lesson of the ladder. Pages that failed are passed over.
func (s *Session) Lesson(ctx context.Context) (Lesson, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return Lesson{}, err
	}
	return s.lesson(ctx, es[0])
}

func (s *Session) lesson(ctx context.Context, e *edition.Edition) (Lesson, error) {
	return teach.Prepare(ctx, edition.Lesson(ctx, e.Pages, s.job.Hand.profile()))
}

// Progress tells how a part of a lesson gets on.
type Progress struct {
	Part   string   // "level 2: page", "level 2: left hand alone"
	Share  float64  // of this part; 1 when it is done
	Reused bool     // nothing it is made of has changed
	Parts  int      // of the lesson
	Done   int      // parts that are done
	All    []string // the names of the parts, in order
}

// Report tells what Pack has made.
type Report struct {
	Files    []PackedFile       // by path
	Made     int                // parts of the lesson that were made
	Reused   int                // parts of which nothing had changed
	Kept     []string           // files there that are not the lesson's; they were left
	Refused  []Refusal          // levels without a page
	Problems leadsheet.Problems // what had to be left out
}

// PackedFile is one file of a lesson.
type PackedFile struct {
	Path   string // with slashes
	Bytes  int64
	SHA256 string // in hexadecimal
	// Teacher: for whoever teaches alone; no page of the lesson leads to it.
	Teacher bool
}

// Refusal is a level that no page of passed the audit.
type Refusal struct {
	Level    Level
	Key      theory.Key
	Problems leadsheet.Problems
}

// Pack puts the lesson into a store: a site that opens without a network, a workbook,
// pages, scores, MIDI and recordings, in all of the job's Keys, and a manifest with a
// hash of every file. It appears whole or not at all. A lesson that stands there is
// replaced, of which parts that would come out the same are kept; a place that holds
// anything else is refused. progress, if it is not nil, is called from several
// goroutines, one call at a time.
func (s *Session) Pack(ctx context.Context, to Store, progress func(Progress)) (Report, error) {
	if made, ok, err := pack.Again(ctx, to, s.job.Hash(), program()); ok || err != nil {
		return report(made, s.words()), s.inSheet(err)
	}
	in, err := s.packInput(ctx)
	if err != nil {
		return Report{}, err
	}
	r, err := s.studio.pack(ctx, to, in, s.job, progress)
	return r, s.inSheet(err)
}

// pack puts a lesson into a store; of the job it takes how things are printed and heard.
func (st *Studio) pack(ctx context.Context, to Store, in pack.Input, job Job, progress func(Progress)) (Report, error) {
	o := pack.Options{Paper: job.Paper.page(), LargePrint: job.LargePrint, Audio: pack.SomeAudio + pack.Audio(job.Audio)}
	if progress != nil {
		o.Progress = func(p pack.Progress) { progress(Progress(p)) }
	}
	tools, err := st.tools(ctx, job.Audio)
	if err != nil {
		return Report{}, err
	}
	made, err := pack.Make(ctx, to, in, o, tools)
	if err != nil {
		return Report{}, err
	}
	r := report(made, words.Must(job.Language))
	for _, ed := range in.Editions {
		for _, x := range ed.Refused {
			r.Refused = append(r.Refused, Refusal{Level{x.Level.Number, x.Level.Name, x.Level.Title}, ed.Key, x.Problems})
		}
	}
	return r, nil
}

// report tells what was made, its problems in the words of w.
func report(made pack.Report, w *words.Words) Report {
	r := Report{Made: made.Made, Reused: made.Reused, Kept: made.Kept, Problems: w.Problems(made.Problems)}
	for _, f := range made.Manifest.Files {
		r.Files = append(r.Files, PackedFile{f.Path, f.Bytes, f.SHA256, pack.ForTeacher(f.Path)})
	}
	return r
}

// packInput gathers what the lesson is made of. Where no level has a page there is
// nothing to pack.
func (s *Session) packInput(ctx context.Context) (pack.Input, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return pack.Input{}, err
	}
	in := pack.Input{Name: s.job.Stem(), Song: s.song, Hand: s.job.Hand.profile(), Language: s.job.Language, Program: program(), Job: s.job.Hash(), Own: s.job.own(s.imprint)}
	for _, e := range es {
		ed, err := s.packEdition(ctx, e)
		if err != nil {
			return in, err
		}
		in.Editions = append(in.Editions, ed.Ordered(s.imprint.Order))
	}
	return in, nil
}

func (s *Session) packEdition(ctx context.Context, e *edition.Edition) (pack.Edition, error) {
	ed := pack.Edition{Key: e.Song.Key}
	var err error
	if ed.Lesson, err = s.lesson(ctx, e); err != nil {
		return ed, err
	}
	for _, a := range e.Pages {
		if a.Failed || len(a.Score.Notes) == 0 {
			ed.Refused = append(ed.Refused, pack.Refusal{Level: a.Level, Problems: a.Problems})
			continue
		}
		if err := context.Cause(ctx); err != nil {
			return ed, err
		}
		why, err := account.Of(a)
		if err != nil {
			return ed, err
		}
		ed.Pages = append(ed.Pages, pack.Page{Level: a.Level, Score: a.Score, Printed: s.printed(a), Account: append(why, '\n')})
	}
	if len(ed.Pages) > 0 {
		return ed, nil
	}
	ps := slices.Clone(s.song.Problems)
	for _, r := range ed.Refused {
		ps = append(ps, r.Problems...)
	}
	if ps.Err() == nil {
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: s.song.File}, "lesson-empty")
	}
	return ed, s.words().Problems(ps)
}

// tools opens what the lesson's parts are made with.
func (st *Studio) tools(ctx context.Context, audio Audio) (pack.Tools, error) {
	g, err := st.pages(ctx)
	if err != nil {
		return pack.Tools{}, err
	}
	t := pack.Tools{Engraver: g, Takes: perform.PracticeSet()}
	if audio != NoAudio {
		r, err := st.piano(ctx)
		if err != nil {
			return t, err
		}
		t.Recorder = r.At(pack.Kbps)
	}
	return t, nil
}

// engraved prints a score whose fingers are those that are shown.
func (s *Session) engraved(ctx context.Context, xml []byte) ([]byte, error) {
	e, err := s.studio.engrave(ctx, xml, Layout{Paper: s.job.Paper, LargePrint: s.job.LargePrint, Fingers: AllFingers, Language: s.job.Language}, nil)
	if err != nil {
		return nil, s.inSheet(err)
	}
	return e.PDF(ctx)
}
