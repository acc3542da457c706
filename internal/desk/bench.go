package desk

import (
	"container/list"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash/fnv"
	"sync"

	"gradatim"
	"gradatim/leadsheet"
)

// bench holds the tunes that are worked on. What a tune is stands on the shelf; a session
// is only what was made of it, so the bench may let go of any at any time. A session is
// known by all that it is made from, so that taking a change back, and looking at what was
// before it, finds what was made then.
type bench struct {
	mu       sync.Mutex
	sessions map[string]*list.Element // of *opened
	order    *list.List               // least lately used last

	// One change at a time is made of a tune. Tunes share a few locks: two that meet wait
	// for one another, which costs time and nothing else.
	turns [64]sync.Mutex
}

type opened struct {
	key     string
	session *gradatim.Session
	decided map[[2]int][]gradatim.Decision // by level and bar, as they were looked at
}

// mostDecided bounds the bars of a session whose runners-up are kept.
const mostDecided = 64

// runnersUp are a session's runners-up of a bar. They stand on the page before one of them
// is taken, and to find them again, each with its sentence, would be a third of the time
// from the press to the picture.
func (b *bench) runnersUp(ctx context.Context, s *gradatim.Session, level, bar int) ([]gradatim.Decision, error) {
	at := [2]int{level, bar}
	b.mu.Lock()
	lies := b.lies(s)
	if lies != nil {
		if ds, ok := lies.decided[at]; ok {
			b.mu.Unlock()
			return ds, nil
		}
	}
	b.mu.Unlock()
	ds, err := s.RunnersUp(ctx, level, bar)
	if err != nil || lies == nil {
		return ds, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(lies.decided) >= mostDecided {
		clear(lies.decided)
	}
	if lies.decided == nil {
		lies.decided = map[[2]int][]gradatim.Decision{}
	}
	lies.decided[at] = ds
	return ds, nil
}

// lies finds a session on the bench; nil: it does not lie there.
func (b *bench) lies(s *gradatim.Session) *opened {
	for e := b.order.Front(); e != nil; e = e.Next() {
		if o := e.Value.(*opened); o.session == s {
			return o
		}
	}
	return nil
}

// held is how many sessions the bench holds: of a tune of 32 bars one is about 2 MB.
const held = 24

func newBench() *bench {
	return &bench{sessions: map[string]*list.Element{}, order: list.New()}
}

func (b *bench) get(key string) *gradatim.Session {
	b.mu.Lock()
	defer b.mu.Unlock()
	e, ok := b.sessions[key]
	if !ok {
		return nil
	}
	b.order.MoveToFront(e)
	return e.Value.(*opened).session
}

// put keeps a session, or returns the one that somebody else has put there meanwhile.
func (b *bench) put(key string, s *gradatim.Session) *gradatim.Session {
	b.mu.Lock()
	defer b.mu.Unlock()
	if e, ok := b.sessions[key]; ok {
		b.order.MoveToFront(e)
		return e.Value.(*opened).session
	}
	b.sessions[key] = b.order.PushFront(&opened{key: key, session: s})
	for b.order.Len() > held {
		last := b.order.Back()
		delete(b.sessions, last.Value.(*opened).key)
		b.order.Remove(last)
	}
	return s
}

func (b *bench) turn(tune string) *sync.Mutex {
	h := fnv.New32a()
	h.Write([]byte(tune))
	return &b.turns[h.Sum32()%uint32(len(b.turns))]
}

// state is a tune as it stands on the shelf at a moment.
type state struct {
	Tune    gradatim.ShelfTune
	Session *gradatim.Session
	Job     gradatim.Job
	History []gradatim.Revision // of its choices, oldest first
	Version int                 // newest of it; 0: there is none
}

// key is what a job's session is known by. What its choices are called as a file is not
// part of it: those that Change has made have no name yet.
func key(tune string, job gradatim.Job) string {
	if job.Choices.Name != "" || job.Choices.Data != nil {
		job.Choices.Name = "choices.toml"
	}
	sum := sha256.New()
	fmt.Fprintf(sum, "%s\n%s", tune, job.Hash())
	return hex.EncodeToString(sum.Sum(nil))
}

// state opens a tune. The error is a leadsheet.Problems where there is no such tune or it
// cannot be read.
func (d *Desk) state(ctx context.Context, id string) (*state, error) {
	t, err := d.shelf.Tune(ctx, id)
	if err != nil {
		return nil, err
	}
	st := &state{Tune: t}
	// The history goes first: what is written between the two is seen as newer than the
	// forms say, never as older.
	if st.History, err = d.shelf.History(ctx, t.ID, gradatim.ChoicesHistory); err != nil {
		return nil, err
	}
	if n := len(st.History); n > 0 {
		st.Version = st.History[n-1].Version
	}
	if st.Job, err = d.shelf.JobOf(ctx, t.ID); err != nil {
		return nil, err
	}
	chosen, err := d.chosenOptions(ctx, t.ID)
	if err != nil {
		return nil, err
	}
	apply(&st.Job, chosen)
	if st.Job.Mend = mends(chosen); st.Job.Mend != nil {
		if st.Session, err = d.session(ctx, t.ID, st.Job); err == nil {
			return st, nil
		}
		st.Job.Mend = nil // of a sheet that was changed since
	}
	st.Session, err = d.session(ctx, t.ID, st.Job)
	return st, err
}

// session is the session of a job of a tune, from the bench where it lies there.
func (d *Desk) session(ctx context.Context, tune string, job gradatim.Job) (*gradatim.Session, error) {
	job.Language = d.words.ID()
	k := key(tune, job)
	if s := d.tunes.get(k); s != nil {
		return s, nil
	}
	s, err := d.studio.Open(ctx, job)
	if err != nil {
		return nil, err
	}
	return d.tunes.put(k, s), nil
}

// at is the session of a tune as it was after a version of its choices.
func (d *Desk) at(ctx context.Context, st *state, version int) (*gradatim.Session, error) {
	if version == st.Version {
		return st.Session, nil
	}
	job := st.Job
	job.Choices = gradatim.File{}
	if version > 0 {
		data, err := d.shelf.At(ctx, st.Tune.ID, gradatim.ChoicesHistory, version)
		if err != nil {
			return nil, err
		}
		if data != nil {
			job.Choices = gradatim.File{Name: choicesName(st.Tune), Data: data}
		}
	}
	return d.session(ctx, st.Tune.ID, job)
}

// choicesName is what the choices of a tune are called as a file, as JobOf calls them.
func choicesName(t gradatim.ShelfTune) string { return gradatim.Stem(t.Name, 0) + "-choices.toml" }

// outcome is what became of a change.
type outcome struct {
	Version int  // newest of the history
	Merged  bool // others had changed other bars meanwhile: both hold
	// Kept is the version under which the change was put aside, since others had changed
	// the same bars meanwhile: theirs holds. 0: it was not.
	Kept int
	// Nothing is set where the choices are what they were.
	Nothing bool
}

// how says in one word what became of it, for what is told on the next page.
func (o outcome) how() string {
	switch {
	case o.Kept > 0:
		return "kept"
	case o.Merged:
		return "merged"
	case o.Nothing:
		return "same"
	}
	return "changed"
}

// changing makes of a session another one: what Session.Change, Lock and Free do.
type changing func(context.Context, *gradatim.Session) (*gradatim.Session, error)

// change changes the choices of a tune and writes them into its history, with a note of
// what was done, before it returns. seen is the version that the writer had before her.
// Where others have written meanwhile the change is made to what holds now, if it touches
// other bars; else it is put aside in the history and what holds stays. A change after
// which a page that stood has no page any more is refused: the error is a
// leadsheet.Problems that says why.
func (d *Desk) change(ctx context.Context, id string, seen int, note string, f changing) (outcome, error) {
	turn := d.tunes.turn(id)
	turn.Lock()
	defer turn.Unlock()
	for again := 0; ; again++ {
		o, err := d.changeOnce(ctx, id, seen, note, f)
		if again < 3 && meanwhile(err) { // another desk on the same shelf
			continue
		}
		return o, err
	}
}

// meanwhile tells whether an error is that somebody else has written first.
func meanwhile(err error) bool {
	var ps leadsheet.Problems
	return errors.As(err, &ps) && len(ps) > 0 && ps[0].Says == "shelf-history.meanwhile"
}

func (d *Desk) changeOnce(ctx context.Context, id string, seen int, note string, f changing) (outcome, error) {
	st, err := d.state(ctx, id)
	if err != nil {
		return outcome{}, err
	}
	if seen == st.Version {
		return d.write(ctx, st, note, f)
	}
	base, err := d.at(ctx, st, seen)
	if err != nil {
		return outcome{}, err
	}
	mine, err := f(ctx, base)
	if err != nil {
		return outcome{}, err
	}
	before := base.Job().Choices.Data
	if !meet(touched(before, st.Job.Choices.Data), touched(before, mine.Job().Choices.Data)) {
		o, err := d.write(ctx, st, note, f)
		o.Merged = err == nil && !o.Nothing
		return o, err
	}
	// Both are kept: mine is written, and taken back at once.
	o := outcome{}
	if o.Kept, err = d.shelf.Write(ctx, st.Tune.ID, gradatim.ChoicesHistory, mine.Job().Choices.Data, note, st.Version); err != nil {
		return outcome{}, err
	}
	if o.Kept == st.Version { // it is what holds
		return outcome{Version: st.Version, Nothing: true}, nil
	}
	if _, err = d.shelf.Undo(ctx, st.Tune.ID, gradatim.ChoicesHistory); err != nil {
		return outcome{}, err
	}
	o.Version = o.Kept + 1
	return o, nil
}

// write makes a change to what holds and writes it down.
func (d *Desk) write(ctx context.Context, st *state, note string, f changing) (outcome, error) {
	next, err := f(ctx, st.Session)
	if err != nil {
		return outcome{}, err
	}
	if err := d.stands(ctx, st.Session, next); err != nil {
		return outcome{}, err
	}
	data := next.Job().Choices.Data
	if string(data) == string(st.Job.Choices.Data) {
		return outcome{Version: st.Version, Nothing: true}, nil
	}
	version, err := d.shelf.Write(ctx, st.Tune.ID, gradatim.ChoicesHistory, data, note, st.Version)
	if err != nil {
		return outcome{}, err
	}
	d.tunes.put(key(st.Tune.ID, next.Job()), next) // what was made of it need not be made again
	return outcome{Version: version}, nil
}

// stands tells what is wrong with a session that has lost a page which the one before had.
func (d *Desk) stands(ctx context.Context, before, after *gradatim.Session) error {
	had, err := before.Ladder(ctx)
	if err != nil {
		return err
	}
	has, err := after.Ladder(ctx)
	if err != nil {
		return err
	}
	stood := map[int]bool{}
	for _, p := range had {
		stood[p.Level.Number] = !p.Failed
	}
	var ps leadsheet.Problems
	for _, p := range has {
		if p.Failed && stood[p.Level.Number] {
			ps = append(ps, p.Problems...)
		}
	}
	return ps.Err()
}
