package gradatim

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"sync"

	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/engrave"
	"gradatim/internal/idiom"
	"gradatim/internal/imprint"
	"gradatim/internal/ladder"
	"gradatim/internal/studio"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// Studio holds the engraver and the piano, which cost more to open than a job to do.
// Both are opened when they are first asked for. The zero Studio is ready; sessions at
// the same time may share one.
type Studio struct {
	// Engine is a file with another build of the engraving library, in the place of the
	// one that the program carries. It is read when something is first engraved.
	Engine string

	mu       sync.Mutex
	engraver *engrave.Engraver
	recorder *studio.Recorder
	plans    edition.Plans
}

// Close lets go of what was opened. A Studio may be used again after it.
func (st *Studio) Close() error {
	st.mu.Lock()
	defer st.mu.Unlock()
	g := st.engraver
	st.engraver, st.recorder = nil, nil
	if g == nil {
		return nil
	}
	return g.Close()
}

func (st *Studio) pages(ctx context.Context) (*engrave.Engraver, error) {
	return unlessEnded(ctx, func() (_ *engrave.Engraver, err error) {
		st.mu.Lock()
		defer st.mu.Unlock()
		// Who asks no longer opens nothing: nobody might close it.
		if err = context.Cause(ctx); err == nil && st.engraver == nil {
			st.engraver, err = engrave.New(engrave.Config{EngineFile: st.Engine})
		}
		return st.engraver, err
	})
}

func (st *Studio) piano(ctx context.Context) (*studio.Recorder, error) {
	return unlessEnded(ctx, func() (_ *studio.Recorder, err error) {
		st.mu.Lock()
		defer st.mu.Unlock()
		if err = context.Cause(ctx); err == nil && st.recorder == nil {
			st.recorder, err = studio.NewRecorder()
		}
		return st.recorder, err
	})
}

// Session is a job that was opened: its sheet is read, and what is asked of it is
// made when it is asked for, once. A session never changes and may be used by several
// goroutines; Change gives another one.
type Session struct {
	imprint imprint.Imprint // what a teacher gives to the lesson
	studio  *Studio
	own     bool // the studio was made for this session
	job     Job
	song    leadsheet.Song
	built   []ladder.Level // that there are
	levels  []ladder.Level // that are asked for
	kinds   []idiom.Idiom
	chosen  []choice.Choice

	toldOfChoices int // the last of the song's problems are about the choices

	turn     chan struct{} // one at a time makes the editions
	editions []*edition.Edition
	pages    []Page // of the first edition, as Ladder gives them
	before   []Page // of the session that this one is a change of, until pages are there
}

// Open reads a job. Close the session when it is done with. The error is a
// leadsheet.Problems with all that is wrong in the first of the files where anything
// is, or in the options; or the context's.
func Open(ctx context.Context, job Job) (*Session, error) {
	st := new(Studio)
	s, err := st.Open(ctx, job)
	if err != nil {
		return nil, err
	}
	s.own = true
	return s, nil
}

// Open reads a job, as the function does. The session works in this studio and need
// not be closed.
func (st *Studio) Open(ctx context.Context, job Job) (*Session, error) {
	w, err := words.In(job.Language)
	if err != nil { // Check tells of it
		w = words.Must(words.Default)
	}
	s, err := st.open(ctx, job)
	if err != nil {
		return nil, w.Err(err)
	}
	s.song.Problems = w.Problems(s.song.Problems)
	return s, nil
}

// open is Open before Problems are put into words.
func (st *Studio) open(ctx context.Context, job Job) (*Session, error) {
	if err := context.Cause(ctx); err != nil {
		return nil, err
	}
	if err := job.Check(); err != nil {
		return nil, err
	}
	if job.Sheet.none() {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "job-sheet")
		return nil, ps
	}
	s := &Session{studio: st, job: job.normal(), turn: make(chan struct{}, 1)}
	var err error
	if s.built, err = levelsWith(job.OwnLevels); err != nil {
		return nil, err
	}
	if s.kinds, err = kindsWith(job.OwnStyles); err != nil {
		return nil, err
	}
	if err := s.choose(); err != nil {
		return nil, err
	}
	if s.song, err = Read(job.Sheet.Name, job.Sheet.Data, job.Tune); err != nil {
		return nil, err
	}
	if len(job.Mend) > 0 {
		if s.song, err = Mend(s.song, job.Mend...); err != nil {
			return nil, err
		}
	}
	if !job.Rights.none() {
		if s.song, err = ReadRights(job.Rights.Name, job.Rights.Data, s.song); err != nil {
			return nil, err
		}
	}
	if err := s.readChoices(); err != nil {
		return nil, err
	}
	var numbers []int
	for _, l := range s.levels {
		numbers = append(numbers, l.Number)
	}
	if s.imprint, err = job.imprint(numbers); err != nil {
		return nil, err
	}
	return s, nil
}

// choose finds the levels and the style that the job names.
func (s *Session) choose() error {
	var ps leadsheet.Problems
	if _, ok := idiom.Named(string(s.job.Style), s.kinds); !ok && s.job.Style != "" {
		_, err := ParseStyle(string(s.job.Style), s.job.OwnStyles...)
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "job-option.unread", "Option", "style", "Error", err.Error())
	}
	for _, l := range s.built {
		if s.job.Levels == nil || slices.Contains(s.job.Levels, l.Number) {
			s.levels = append(s.levels, l)
		}
	}
	for _, n := range slices.Concat(s.job.Levels, s.job.Outline) {
		if _, err := ladder.Select(strconv.Itoa(n), s.built); err != nil {
			var more leadsheet.Problems
			errors.As(err, &more)
			ps = append(ps, more...)
		}
	}
	return ps.Err()
}

// readChoices reads what the teacher has fixed.
func (s *Session) readChoices() error {
	if s.job.Choices.none() {
		return nil
	}
	// A file of choices serves every run: those for levels not asked for wait.
	chosen, told, err := choice.Parse(s.job.Choices.Name, s.job.Choices.Data, s.song, s.built, s.job.beside)
	if err != nil {
		return err
	}
	s.chosen, s.toldOfChoices = chosen, len(told)
	s.song.Problems = append(slices.Clip(s.song.Problems), s.words().Problems(told)...)
	return nil
}

// Close lets go of what the session has opened. Sessions that Change or In returned
// end with it and need no Close of their own.
func (s *Session) Close() error {
	if !s.own {
		return nil
	}
	return s.studio.Close()
}

// Job is what the session makes, with the choices made since it was opened.
func (s *Session) Job() Job { return s.job }

// Song is the lead sheet as it was understood; its Problems tell what was dropped or
// guessed, and what there is to tell of the choices.
func (s *Session) Song() leadsheet.Song { return s.song }

// Publishable says what is missing before pages made from the tune may be published;
// private practice never needs it.
func (s *Session) Publishable() leadsheet.Problems {
	return s.words().Problems(Publishable(s.song))
}

// options are those for one key.
func (s *Session) options(k Key) edition.Options {
	opt := edition.Options{Levels: s.levels, Easy: k == EasyKey, Feel: s.job.Feel, Hand: s.job.Hand.profile(),
		Idiom: string(s.job.Style), Manner: idiom.Way(s.job.Manner), Repeats: edition.Repeats(s.job.Repeats), Lyrics: edition.Lyrics(s.job.Lyrics), WrittenRhythm: s.job.WrittenRhythm, Outline: s.job.Outline,
		Introduction: idiom.Length(s.job.Introduction), Ending: idiom.Length(s.job.Ending), Kinds: s.kinds, Choices: s.chosen, Plans: &s.studio.plans, Language: s.job.Language}
	if k != OwnKey && k != EasyKey {
		opt.Key, _ = theory.ParseKey(string(k)) // Check has read it
	}
	if s.job.Tempo > 0 {
		opt.Tempo = leadsheet.Tempo{Beat: s.song.Meter.BeatDur(), PerMinute: s.job.Tempo, Words: s.song.Tempo.Words}
	}
	return opt
}

// alone runs f while nobody else does.
func (s *Session) alone(ctx context.Context, f func() error) error {
	select {
	case s.turn <- struct{}{}:
	case <-ctx.Done():
		return context.Cause(ctx)
	}
	defer func() { <-s.turn }()
	if err := context.Cause(ctx); err != nil {
		return err
	}
	return f()
}

// unlessEnded returns what f does, or ends with the context before it. f is work of a few
// hundredths of a second that does not look at the context: nobody waits for it then, and
// it comes to its end by itself.
func unlessEnded[T any](ctx context.Context, f func() (T, error)) (T, error) {
	type result struct {
		value T
		err   error
	}
	if err := context.Cause(ctx); err != nil {
		var none T
		return none, err
	}
	done := make(chan result, 1)
	go func() {
		v, err := f()
		done <- result{v, err}
	}()
	select {
	case r := <-done:
		return r.value, r.err
	case <-ctx.Done():
		var none T
		return none, context.Cause(ctx)
	}
}

// made returns the editions that are made by now, and the pages of the first.
func (s *Session) made(ctx context.Context) (es []*edition.Edition, ps []Page, err error) {
	err = s.alone(ctx, func() error {
		es, ps = s.editions, s.pages
		return nil
	})
	return es, ps, err
}

// ladders returns the editions, one for each key, and makes them where that is not
// done.
func (s *Session) ladders(ctx context.Context) (es []*edition.Edition, err error) {
	err = s.alone(ctx, func() error {
		if s.editions == nil {
			if s.editions, err = s.arranged(ctx); err != nil {
				return err
			}
		}
		es = s.editions
		return nil
	})
	return es, err
}

// arranged makes the editions. Of two keys that come out the same one is left.
func (s *Session) arranged(ctx context.Context) ([]*edition.Edition, error) {
	keys := s.job.Keys
	if keys == nil {
		keys = []Key{OwnKey}
	}
	var out []*edition.Edition
	for _, k := range keys {
		e, err := edition.New(ctx, s.song, s.options(k))
		var ps leadsheet.Problems
		if errors.As(err, &ps) { // with what was told before
			return nil, slices.Concat(s.song.Problems, ps)
		} else if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(out, func(o *edition.Edition) bool { return o.Song.Key == e.Song.Key }) {
			out = append(out, e)
		}
	}
	return out, nil
}

// Keys lists the keys that the job's pages are in, the first being the one that all
// else speaks of.
func (s *Session) Keys(ctx context.Context) ([]theory.Key, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return nil, err
	}
	var out []theory.Key
	for _, e := range es {
		out = append(out, e.Song.Key)
	}
	return out, nil
}

// In is the session of one of the job's Keys alone. Nothing is made again.
func (s *Session) In(ctx context.Context, key theory.Key) (*Session, error) {
	es, err := s.ladders(ctx)
	if err != nil {
		return nil, err
	}
	for _, e := range es {
		if e.Song.Key != key {
			continue
		}
		next := *s
		next.own, next.turn, next.editions, next.pages = false, make(chan struct{}, 1), []*edition.Edition{e}, nil
		next.job.Keys = []Key{KeyOn(key.Tonic)}
		if key.Tonic == s.song.Key.Tonic {
			next.job.Keys = nil
		}
		return &next, nil
	}
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{File: s.song.File}, "key-absent", "Key", key)
	return nil, s.words().Problems(ps)
}
