package press

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"

	"gradatim/internal/shelf"
	"gradatim/leadsheet"
)

// Task is what a Maker is asked for.
type Task struct {
	Run  Run
	Part Part
	// Progress may be told the share that is done, from 0 to 1.
	Progress func(float64)
	// Steps may be told the pieces of the part and how far each is. The list is not changed
	// afterwards.
	Steps func([]Step)
}

// Made is what a Maker made. The build's files are kept on the shelf already; it is not
// recorded.
type Made struct {
	Build  shelf.Build
	Reused bool // it was there already
}

// Maker makes a part. The same task gives the same build. A leadsheet.Problems says that
// it cannot be made, and is final; any other error may pass.
type Maker func(context.Context, Task) (Made, error)

// Config says how a worker works. The zero Config is ready.
type Config struct {
	AtOnce int           // parts at once; 0: 1
	Most   time.Duration // that a part may take; 0: ten minutes
	Beat   time.Duration // between two signs of life; 0: 5 s
	Lost   time.Duration // without a sign of life after which a part is taken up anew; 0: 30 s
	Stop   time.Duration // that parts have to end in when the worker is stopped; 0: 10 s
	Again  time.Duration // before a part that failed is taken up again, times the tries; 0: 1 s

	// Words puts a part's problems into words, as JSON; nil: they have their codes alone.
	Words func(leadsheet.Problems) leadsheet.Problems
}

// withDefaults returns the configuration with each value set.
func (c Config) withDefaults() Config {
	for _, d := range []struct {
		to    *time.Duration
		value time.Duration
	}{{&c.Most, 10 * time.Minute}, {&c.Beat, 5 * time.Second}, {&c.Lost, 30 * time.Second}, {&c.Stop, 10 * time.Second}, {&c.Again, time.Second}} {
		if *d.to == 0 {
			*d.to = d.value
		}
	}
	if c.AtOnce == 0 {
		c.AtOnce = 1
	}
	return c
}

// Worker makes parts until it is stopped.
type Worker struct {
	river.WorkerDefaults[args]

	shelf *shelf.Shelf
	make  Maker
	cfg   Config
	name  string
	taken atomic.Int64
	busy  atomic.Int64 // parts at work
	last  atomic.Int64 // when the queue brought something last, in nanoseconds

	full context.CancelCauseFunc // ends the worker where there is no room

	Counters *Counters
}

// Counters count what a worker has done since it began.
type Counters struct {
	Made, Reused, Failed, Again, Lost, Found atomic.Int64
	Millis, Bytes                            atomic.Int64
}

// Work makes parts, of all runs, until the context ends; then it ends within Config.Stop,
// and what was not done waits for another. until, if it is not nil, is asked now and then
// whether to end. A full disk ends the worker as well, for it would fail one part after the
// other: what it made then waits, counts no try, and the Problems that are returned say so.
func Work(ctx context.Context, s *shelf.Shelf, m Maker, cfg Config, counters *Counters, until func(context.Context) (bool, error)) (err error) {
	cfg = cfg.withDefaults()
	if counters == nil {
		counters = &Counters{}
	}
	w := &Worker{shelf: s, make: m, cfg: cfg, name: rand.Text()[:12], Counters: counters}
	w.last.Store(time.Now().UnixNano())
	ctx, w.full = context.WithCancelCause(ctx)
	defer w.full(nil)
	workers := river.NewWorkers()
	river.AddWorker(workers, w)
	var listener *pgxpool.Pool
	if s.Engine() == "postgres" {
		if listener, err = pgxpool.New(ctx, s.Place().Listen()); err != nil {
			return err
		}
		defer listener.Close()
	}
	q, err := river.NewClient(driver(s, listener), &river.Config{
		ID:                   "gradatim-" + w.name,
		Logger:               s.Logger(),
		Queues:               map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: cfg.AtOnce}},
		Workers:              workers,
		FetchCooldown:        5 * time.Millisecond,
		FetchPollInterval:    500 * time.Millisecond, // where nothing is told; a part that ends has the next fetched
		PollOnly:             listener == nil,        // SQLite is asked for what it tells twenty times a second
		JobTimeout:           cfg.Most,
		RescueStuckJobsAfter: cfg.Most + 30*time.Second,
		RetryPolicy:          again(cfg.Again),
	})
	if err != nil {
		return err
	}
	// The worker's own context does not end with ctx: parts get the time to end.
	if err := q.Start(context.WithoutCancel(ctx)); err != nil {
		return fmt.Errorf("queue: %w", err)
	}
	var wg sync.WaitGroup
	look, stopLooking := context.WithCancel(context.WithoutCancel(ctx))
	wg.Go(func() { w.look(look, q) })
	err = w.wait(ctx, until)
	stopLooking()
	wg.Wait()
	soft, cancel := context.WithTimeout(context.WithoutCancel(ctx), cfg.Stop/2)
	defer cancel()
	if stopErr := q.Stop(soft); stopErr != nil {
		hard, cancel := context.WithTimeout(context.WithoutCancel(ctx), cfg.Stop-cfg.Stop/2)
		defer cancel()
		if stopErr = q.StopAndCancel(hard); stopErr != nil {
			err = errors.Join(err, fmt.Errorf("queue: %w", stopErr))
		}
	}
	var ps leadsheet.Problems
	if errors.As(context.Cause(ctx), &ps) { // what else failed then failed for that
		return ps
	}
	return err
}

// noRoom ends the worker where an error says that a disk is full.
func (w *Worker) noRoom(err error) bool {
	ps, full := w.shelf.NoRoom(err)
	if full {
		ps = slices.Clone(ps)
		ps.Tell(leadsheet.Warning, leadsheet.Pos{File: ps[0].Pos.File}, "press-waits")
		w.full(ps)
	}
	return full
}

// again is how long the queue waits before it takes up a part again.
type again time.Duration

// NextRetry is later with each try.
func (a again) NextRetry(job *rivertype.JobRow) time.Time {
	return time.Now().Add(time.Duration(a) * time.Duration(max(1, len(job.Errors)+1)))
}

// wait returns when the context ends or until says so. A database that is started anew is away
// for a while: until may fail for as long as a part is waited for.
func (w *Worker) wait(ctx context.Context, until func(context.Context) (bool, error)) error {
	if until == nil {
		<-ctx.Done()
		return nil
	}
	t := time.NewTicker(200 * time.Millisecond)
	defer t.Stop()
	answered := time.Now()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-t.C:
			end, err := until(ctx)
			switch {
			case err == nil && end:
				return nil
			case err == nil:
				answered = time.Now()
			case ctx.Err() == nil && time.Since(answered) > w.cfg.Lost:
				return err
			}
		}
	}
}

// look finds parts whose holder is not heard of any more, and queues them again.
func (w *Worker) look(ctx context.Context, q *river.Client[*sql.Tx]) {
	t := time.NewTicker(w.cfg.Beat)
	defer t.Stop()
	for {
		if err := errors.Join(w.rescue(ctx, q), w.remind(ctx, q)); err != nil && ctx.Err() == nil {
			w.shelf.Logger().WarnContext(ctx, "looking for lost parts", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
	}
}

func (w *Worker) rescue(ctx context.Context, q *river.Client[*sql.Tx]) error {
	before := shelf.StampOf(w.shelf.Now().Add(-w.cfg.Lost))
	var lost int
	if err := w.shelf.Each(ctx, "SELECT count(*) FROM part WHERE state = 'making' AND beat < ?", []any{before}, func(scan func(...any) error) error { return scan(&lost) }); err != nil || lost == 0 {
		return err
	}
	return w.shelf.Within(ctx, func(t shelf.Tx) error {
		// One whose worker dies each time may be what kills it.
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "press-lost", "n", tries)
		gone, err := t.Exec(ctx, "UPDATE part SET state = 'failed', holder = '', problems = ?, ended = ? WHERE state = 'making' AND beat < ? AND tries >= ?", w.worded(ps), w.shelf.Stamp(), before, tries)
		if err != nil {
			return err
		}
		w.Counters.Failed.Add(gone)
		var ids []int64
		err = t.Each(ctx, "UPDATE part SET state = 'waiting', holder = '' WHERE state = 'making' AND beat < ? RETURNING id", []any{before}, func(scan func(...any) error) error {
			var id int64
			err := scan(&id)
			ids = append(ids, id)
			return err
		})
		if err != nil {
			return err
		}
		w.Counters.Found.Add(int64(len(ids)))
		w.shelf.Logger().InfoContext(ctx, "parts of lost workers", "again", len(ids), "failed", gone)
		return enqueue(ctx, q, t, ids)
	})
}

// remind queues parts again that wait while the queue brings nothing. A worker that was
// killed after the queue gave it a part, and before it took the part up, leaves one that
// nobody holds and the queue takes for being made. That a part is queued twice does no harm.
func (w *Worker) remind(ctx context.Context, q *river.Client[*sql.Tx]) error {
	if w.busy.Load() > 0 || time.Since(time.Unix(0, w.last.Load())) < w.cfg.Lost {
		return nil
	}
	w.last.Store(time.Now().UnixNano())
	var ids []int64
	err := w.shelf.Each(ctx, "SELECT id FROM part WHERE state = 'waiting' ORDER BY id LIMIT 1000", nil, func(scan func(...any) error) error {
		var id int64
		err := scan(&id)
		ids = append(ids, id)
		return err
	})
	if err != nil || len(ids) == 0 {
		return err
	}
	w.shelf.Logger().InfoContext(ctx, "parts that the queue has forgotten", "again", len(ids))
	return w.shelf.Within(ctx, func(t shelf.Tx) error { return enqueue(ctx, q, t, ids) })
}

// worded writes problems as rows have them.
func (w *Worker) worded(ps leadsheet.Problems) string {
	if w.cfg.Words != nil {
		ps = w.cfg.Words(ps)
	}
	b, err := json.Marshal(ps)
	if err != nil {
		panic(err) // texts and numbers
	}
	return string(b)
}

// errLost ends the work on a part that is not this holder's any more.
var errLost = errors.New("the part was lost or cancelled")

// Work is called by the queue with a part.
func (w *Worker) Work(ctx context.Context, job *river.Job[args]) error {
	w.busy.Add(1)
	defer func() {
		w.last.Store(time.Now().UnixNano())
		w.busy.Add(-1)
	}()
	holder := fmt.Sprintf("%s.%d", w.name, w.taken.Add(1))
	task, ok, err := w.takeUp(ctx, job.Args.Part, holder)
	if err != nil || !ok {
		w.noRoom(err)
		return err
	}
	log := w.shelf.Logger().With("run", task.Run.ID, "part", task.Part.ID, "tune", task.Part.Tune, "key", task.Part.Key, "try", task.Part.Tries)
	began := time.Now()
	working, end := context.WithCancelCause(ctx)
	var share atomic.Int64
	task.Progress = func(s float64) { share.Store(int64(1000 * s)) }
	var steps atomic.Pointer[[]Step]
	task.Steps = func(all []Step) { steps.Store(&all) }
	var wg sync.WaitGroup
	wg.Go(func() { w.live(working, end, task.Part.ID, holder, &share, &steps) })
	made, err := w.made(working, task)
	took := time.Since(began)
	lost := errors.Is(context.Cause(working), errLost)
	end(nil)
	wg.Wait()
	if err == nil {
		err = w.finish(ctx, task, holder, made, took)
		lost = lost || errors.Is(err, errLost)
	}
	switch {
	case lost:
		w.Counters.Lost.Add(1)
		log.InfoContext(ctx, "part lost or cancelled")
		return nil
	case err == nil:
		log.InfoContext(ctx, "part done", "took", took, "reused", made.Reused)
		return nil
	}
	return w.failed(ctx, task, holder, err, took)
}

// takeUp makes a part this holder's, unless it is over or somebody else's.
func (w *Worker) takeUp(ctx context.Context, id int64, holder string) (task Task, ok bool, err error) {
	err = w.shelf.Within(ctx, func(t shelf.Tx) error {
		n, err := t.Exec(ctx, "UPDATE part SET state = 'making', holder = ?, beat = ?, share = 0, steps = '', tries = tries + 1 WHERE id = ? AND state = 'waiting'", holder, w.shelf.Stamp(), id)
		if err != nil || n == 0 {
			return err
		}
		ok = true
		p, r := &task.Part, &task.Run
		var audio int
		_, err = t.Row(ctx, "SELECT part.id, part.run, part.tune, tune.title, part.key, part.audio, part.tries, run.author, run.query, run.what, run.territory, run.options FROM part JOIN run ON run.id = part.run JOIN tune ON tune.id = part.tune WHERE part.id = ?",
			[]any{id}, &p.ID, &p.Run, &p.Tune, &p.Title, &p.Key, &audio, &p.Tries, &r.Author, &r.Query, &r.What, &r.Territory, &r.Options)
		p.Audio, p.State, r.ID = audio == 1, Making, p.Run
		return err
	})
	return task, ok, err
}

// live says again and again that the holder lives, and ends its work where the part is not
// its own any more.
func (w *Worker) live(ctx context.Context, end context.CancelCauseFunc, part int64, holder string, share *atomic.Int64, steps *atomic.Pointer[[]Step]) {
	t := time.NewTicker(w.cfg.Beat)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
		text := ""
		if all := steps.Load(); all != nil {
			if data, err := json.Marshal(*all); err == nil {
				text = string(data)
			}
		}
		err := w.shelf.Within(ctx, func(t shelf.Tx) error {
			n, err := t.Exec(ctx, "UPDATE part SET beat = ?, share = ?, steps = ? WHERE id = ? AND holder = ? AND state = 'making'", w.shelf.Stamp(), share.Load(), text, part, holder)
			if err == nil && n == 0 {
				return errLost
			}
			return err
		})
		if errors.Is(err, errLost) {
			end(errLost)
			return
		}
	}
}

// made asks the Maker; that it panics is an error of this part.
func (w *Worker) made(ctx context.Context, task Task) (m Made, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic: %v", r)
			w.shelf.Logger().ErrorContext(ctx, "panic", "part", task.Part.ID, "panic", r, "stack", string(debug.Stack()))
		}
	}()
	return w.make(ctx, task)
}

// finish puts the build in its place, if the part is still this holder's: part, build and
// publication in one transaction.
func (w *Worker) finish(ctx context.Context, task Task, holder string, m Made, took time.Duration) error {
	reused := 0
	if m.Reused {
		reused = 1
	}
	err := w.shelf.Within(ctx, func(t shelf.Tx) error {
		n, err := t.Exec(ctx, "UPDATE part SET state = 'done', holder = '', share = 1000, steps = '', build = ?, reused = ?, millis = ?, problems = '[]', ended = ? WHERE id = ? AND holder = ? AND state = 'making'",
			m.Build.ID, reused, took.Milliseconds(), w.shelf.Stamp(), task.Part.ID, holder)
		if err != nil {
			return err
		}
		if n == 0 {
			return errLost
		}
		_, err = t.Record(ctx, m.Build, task.Run.Territory)
		return err
	})
	if err != nil {
		return err
	}
	if m.Reused {
		w.Counters.Reused.Add(1)
		return nil
	}
	w.Counters.Made.Add(1)
	w.Counters.Millis.Add(took.Milliseconds())
	for _, f := range m.Build.Files {
		w.Counters.Bytes.Add(f.Bytes)
	}
	return nil
}

// failed writes down that a part could not be made: for good where its Problems say so or
// it was tried often enough, else until the queue brings it again.
func (w *Worker) failed(ctx context.Context, task Task, holder string, err error, took time.Duration) error {
	log := w.shelf.Logger().With("run", task.Run.ID, "part", task.Part.ID, "tune", task.Part.Tune)
	full := w.noRoom(err)
	stopped := full || errors.Is(ctx.Err(), context.Canceled)
	var ps leadsheet.Problems
	final := errors.As(err, &ps) && !isMachinery(ps)
	if full {
		ps, _ = w.shelf.NoRoom(err)
	} else if !final {
		ps = nil
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "press-failed", "Error", err.Error())
	}
	state, tried := Waiting, 0
	switch {
	case stopped: // by us, or for want of room: it counts as no try
		tried = 1
	case final, task.Part.Tries >= tries:
		state = Failed
	}
	ended := ""
	if state == Failed {
		ended = w.shelf.Stamp()
	}
	// The queue's context may have ended; what is known of the part is written all the same.
	writing, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	werr := w.shelf.Within(writing, func(t shelf.Tx) error {
		_, err := t.Exec(writing, "UPDATE part SET state = ?, holder = '', share = 0, steps = '', tries = tries - ?, problems = ?, millis = ?, ended = ? WHERE id = ? AND holder = ? AND state = 'making'",
			string(state), tried, w.worded(ps), took.Milliseconds(), ended, task.Part.ID, holder)
		return err
	})
	switch {
	case werr != nil: // it will be found as lost
		return errors.Join(err, werr)
	case state == Failed:
		w.Counters.Failed.Add(1)
		log.WarnContext(ctx, "part failed", "error", err)
		return nil
	case full:
		log.WarnContext(ctx, "no room", "error", err)
		return river.JobSnooze(w.cfg.Again) // the worker is about to end
	case stopped:
		return river.JobSnooze(0)
	}
	w.Counters.Again.Add(1)
	log.WarnContext(ctx, "part is tried again", "error", err)
	return err
}

// isMachinery tells problems of database and files, which may pass, from those of a tune.
func isMachinery(ps leadsheet.Problems) bool {
	return len(ps) > 0 && (ps[0].Says == "shelf-broken" || ps[0].Says == "shelf-full")
}
