// Package press makes things of tunes in numbers: a run is planned, its parts are queued,
// workers make them, on one machine or many. It knows no music: a [Maker] is told which
// tune, which key and which options, and gives a build.
//
// Queue and rows share a database, so that a run is queued in the transaction that writes
// it down. What guards against doing something twice is the row of the part, not the queue:
// it is taken up by one holder, who says again and again that it lives; a holder that is
// not heard of for a while has lost it, also where it was only asleep and goes on, for only
// the holder can put a build in its place. Files are kept under their hashes before that,
// so what two holders made is the same files, and what is broken off leaves files that no
// row names.
//
// Rejected: to trust the queue alone. Its workers have no heartbeat, so that a part of a
// worker that was killed would wait for the longest time that any part may take.
package press

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverdatabasesql"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"

	"gradatim/internal/shelf"
	"gradatim/leadsheet"
)

// Press plans and queues runs, and tells how they get on.
type Press struct {
	shelf *shelf.Shelf
	queue *river.Client[*sql.Tx] // that puts parts there
}

// Open makes ready what the queue needs. The shelf stays the caller's.
func Open(ctx context.Context, s *shelf.Shelf) (*Press, error) {
	d := driver(s, nil)
	m, err := rivermigrate.New(d, &rivermigrate.Config{Logger: s.Logger()})
	if err != nil {
		return nil, err
	}
	if _, err := m.Migrate(ctx, rivermigrate.DirectionUp, nil); err != nil {
		return nil, fmt.Errorf("queue: %w", err)
	}
	q, err := river.NewClient(d, &river.Config{Logger: s.Logger()})
	if err != nil {
		return nil, err
	}
	return &Press{shelf: s, queue: q}, nil
}

// driver is the queue's on the shelf's database; listener, on PostgreSQL, hears at once of
// new parts.
func driver(s *shelf.Shelf, listener *pgxpool.Pool) riverdriver.Driver[*sql.Tx] {
	switch {
	case s.Engine() == "sqlite":
		return riversqlite.New(s.DB())
	case listener != nil:
		return riverdatabasesql.NewWithPgxListener(s.DB(), listener)
	}
	return riverdatabasesql.New(s.DB())
}

// State is how far a part is.
type State string

// States.
const (
	Waiting   State = "waiting"
	Making    State = "making"
	Done      State = "done"
	Failed    State = "failed"
	Cancelled State = "cancelled"
)

// Run is what is to be made of which tunes.
type Run struct {
	ID        int64
	At        time.Time
	Author    string
	Query     string // as it was asked for
	What      string // "lesson", "pages", "scores"
	Territory string // of publication; "": none
	Options   string // for the Maker
}

// Part is a piece of a run that is made, fails or is given up by itself.
type Part struct {
	ID    int64
	Run   int64
	Tune  string // id
	Title string // of the tune
	Key   string // as options have it
	Audio bool

	State    State
	Share    float64 // that is done, of one that is being made
	Tries    int
	Build    string
	Reused   bool
	Took     time.Duration
	Problems json.RawMessage // why it failed
	Steps    []Step          // of one that is being made: its pieces, as far as its maker tells them
}

// Step is a piece of a part: "level 2: MIDI".
type Step struct {
	Name  string  `json:"name"`
	Share float64 `json:"share"` // that is done, from 0 to 1
}

// args name a part in the queue.
type args struct {
	Part int64 `json:"part"`
}

// Kind is the queue's name for what is done with a part; it is stored.
func (args) Kind() string { return "press_part" }

// tries is how often a part is taken up before it fails.
const tries = 3

// Queue writes a run down and queues its parts, all in one transaction. It returns the
// run's number.
func (p *Press) Queue(ctx context.Context, r Run, parts []Part) (id int64, err error) {
	err = p.shelf.Within(ctx, func(t shelf.Tx) error {
		if _, err := t.Row(ctx, "INSERT INTO run (at, author, query, what, territory, options) VALUES (?, ?, ?, ?, ?, ?) RETURNING id",
			[]any{p.shelf.Stamp(), p.shelf.Author(), r.Query, r.What, r.Territory, r.Options}, &id); err != nil {
			return err
		}
		ids := make([]int64, len(parts))
		for i, x := range parts {
			audio := 0
			if x.Audio {
				audio = 1
			}
			if _, err := t.Row(ctx, "INSERT INTO part (run, tune, key, audio, state, holder, beat, share, tries, build, reused, problems, millis, ended) VALUES (?, ?, ?, ?, 'waiting', '', '', 0, 0, '', 0, '[]', 0, '') RETURNING id",
				[]any{id, x.Tune, x.Key, audio}, &ids[i]); err != nil {
				return err
			}
		}
		return p.enqueue(ctx, t, ids)
	})
	return id, err
}

// enqueue puts parts into the queue.
func (p *Press) enqueue(ctx context.Context, t shelf.Tx, ids []int64) error {
	return enqueue(ctx, p.queue, t, ids)
}

func enqueue(ctx context.Context, q *river.Client[*sql.Tx], t shelf.Tx, ids []int64) error {
	const most = 1000
	for len(ids) > 0 {
		n := min(most, len(ids))
		many := make([]river.InsertManyParams, n)
		for i, id := range ids[:n] {
			many[i] = river.InsertManyParams{Args: args{id}, InsertOpts: &river.InsertOpts{MaxAttempts: 2 * tries}}
		}
		if _, err := q.InsertManyFastTx(ctx, t.SQL(), many); err != nil {
			return err
		}
		ids = ids[n:]
	}
	return nil
}

// Cancel gives up the parts of a run that are not made yet, also those that are being
// made, and tells how many.
func (p *Press) Cancel(ctx context.Context, run int64) (int, error) {
	var n int64
	err := p.shelf.Within(ctx, func(t shelf.Tx) error {
		if err := p.known(ctx, t, run); err != nil {
			return err
		}
		var err error
		n, err = t.Exec(ctx, "UPDATE part SET state = 'cancelled', holder = '', ended = ? WHERE run = ? AND state IN ('waiting', 'making')", p.shelf.Stamp(), run)
		return err
	})
	return int(n), err
}

// Retry queues again the parts of a run that failed or were given up, and tells how many.
func (p *Press) Retry(ctx context.Context, run int64) (int, error) {
	var ids []int64
	err := p.shelf.Within(ctx, func(t shelf.Tx) error {
		if err := p.known(ctx, t, run); err != nil {
			return err
		}
		err := t.Each(ctx, "UPDATE part SET state = 'waiting', holder = '', tries = 0, share = 0, problems = '[]', ended = '' WHERE run = ? AND state IN ('failed', 'cancelled') RETURNING id", []any{run}, func(scan func(...any) error) error {
			var id int64
			err := scan(&id)
			ids = append(ids, id)
			return err
		})
		if err != nil {
			return err
		}
		return p.enqueue(ctx, t, ids)
	})
	return len(ids), err
}

func (p *Press) known(ctx context.Context, t shelf.Tx, run int64) error {
	var id int64
	found, err := t.Row(ctx, "SELECT id FROM run WHERE id = ?", []any{run}, &id)
	if err == nil && !found {
		return tell("press-run", "Run", int(run))
	}
	return err
}

func tell(says leadsheet.Saying, parts ...any) error {
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{}, says, parts...)
	return ps
}

// Progress is how a run gets on.
type Progress struct {
	Run    Run
	Counts map[State]int
	Reused int           // of those that are done
	Took   time.Duration // for those that were made, added up over all workers
	Making []Part        // that are being made now
	Failed []Part        // that failed
}

// Parts is how many parts there are.
func (p Progress) Parts() int {
	n := 0
	for _, c := range p.Counts {
		n += c
	}
	return n
}

// Over tells whether nothing of it waits or is being made.
func (p Progress) Over() bool { return p.Counts[Waiting] == 0 && p.Counts[Making] == 0 }

// Runs lists all runs, newest first.
func (p *Press) Runs(ctx context.Context) ([]Run, error) {
	return p.runs(ctx, "1 = 1 ORDER BY id DESC")
}

func (p *Press) runs(ctx context.Context, where string, args ...any) ([]Run, error) {
	var out []Run
	err := p.shelf.Each(ctx, "SELECT id, at, author, query, what, territory, options FROM run WHERE "+where, args, func(scan func(...any) error) error {
		var r Run
		var at string
		err := scan(&r.ID, &at, &r.Author, &r.Query, &r.What, &r.Territory, &r.Options)
		r.At = shelf.ParseStamp(at)
		out = append(out, r)
		return err
	})
	return out, err
}

// Progress tells how a run gets on.
func (p *Press) Progress(ctx context.Context, run int64) (Progress, error) {
	out := Progress{Counts: map[State]int{}}
	rs, err := p.runs(ctx, "id = ?", run)
	if err != nil {
		return out, err
	}
	if len(rs) == 0 {
		return out, tell("press-run", "Run", int(run))
	}
	out.Run = rs[0]
	err = p.shelf.Each(ctx, "SELECT state, count(*), sum(reused), sum(millis) FROM part WHERE run = ? GROUP BY state", []any{run}, func(scan func(...any) error) error {
		var s State
		var n, reused int
		var millis float64
		if err := scan(&s, &n, &reused, &millis); err != nil {
			return err
		}
		out.Counts[s] = n
		out.Reused += reused
		out.Took += time.Duration(millis) * time.Millisecond
		return nil
	})
	if err != nil {
		return out, err
	}
	if out.Making, err = p.Parts(ctx, run, Making); err != nil {
		return out, err
	}
	out.Failed, err = p.Parts(ctx, run, Failed)
	return out, err
}

// Parts lists the parts of a run in a state, in the order of the queue.
func (p *Press) Parts(ctx context.Context, run int64, in State) ([]Part, error) {
	var out []Part
	err := p.shelf.Each(ctx, "SELECT part.id, part.run, part.tune, tune.title, part.key, part.audio, part.state, part.share, part.tries, part.build, part.reused, part.millis, part.problems, part.steps FROM part JOIN tune ON tune.id = part.tune WHERE part.run = ? AND part.state = ? ORDER BY part.id",
		[]any{run, string(in)}, func(scan func(...any) error) error {
			var x Part
			var audio, reused, share int
			var millis int64
			var problems, steps string
			err := scan(&x.ID, &x.Run, &x.Tune, &x.Title, &x.Key, &audio, &x.State, &share, &x.Tries, &x.Build, &reused, &millis, &problems, &steps)
			x.Audio, x.Reused, x.Share, x.Took, x.Problems = audio == 1, reused == 1, float64(share)/1000, time.Duration(millis)*time.Millisecond, json.RawMessage(problems)
			if steps != "" && err == nil {
				err = json.Unmarshal([]byte(steps), &x.Steps)
			}
			out = append(out, x)
			return err
		})
	return out, err
}

// Cost is what a part costs.
type Cost struct {
	Took  time.Duration // of one worker's time
	Bytes int64
	Of    int // how many parts it was measured on; 0: none
}

// Measured is what parts of a kind have cost on this shelf: the mean of the newest
// thousand that were made.
func (p *Press) Measured(ctx context.Context, what string, audio bool) (Cost, error) {
	a := 0
	if audio {
		a = 1
	}
	var c Cost
	err := p.shelf.Each(ctx, "SELECT count(*), coalesce(avg(x.millis), 0), coalesce(avg(x.bytes), 0) FROM (SELECT part.millis AS millis, build.bytes AS bytes FROM part JOIN run ON run.id = part.run JOIN build ON build.id = part.build WHERE part.state = 'done' AND part.reused = 0 AND run.what = ? AND part.audio = ? ORDER BY part.id DESC LIMIT 1000) AS x",
		[]any{what, a}, func(scan func(...any) error) error {
			var millis, bytes float64
			err := scan(&c.Of, &millis, &bytes)
			c.Took, c.Bytes = time.Duration(millis*float64(time.Millisecond)), int64(bytes)
			return err
		})
	return c, err
}
