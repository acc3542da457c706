//go:build unix

package press

import (
	"context"
	"encoding/json"
	"errors"
	"math/rand/v2"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gradatim/internal/sharedtest"
	"gradatim/internal/shelf"
	"gradatim/leadsheet"
)

// TestPoison: a part that cannot be made, one that panics and one that takes too long
// fail alone, with what is wrong; what only stumbles once is made.
func TestPoison(t *testing.T) {
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 6
		s, p, run := ready(t, at, n, Run{})
		var stumbled atomic.Bool
		m := func(ctx context.Context, task Task) (Made, error) {
			switch task.Part.Title {
			case "Tune 1":
				var ps leadsheet.Problems
				ps.Tell(leadsheet.Error, leadsheet.Pos{File: "tune.abc", Line: 4, Bar: 1}, "no-melody")
				return Made{}, ps
			case "Tune 2":
				panic("poison")
			case "Tune 3":
				if !stumbled.Swap(true) {
					return Made{}, errors.New("a stumble")
				}
			}
			return maker(s, 0)(ctx, task)
		}
		var c Counters
		g := work(t, s, p, run, m, &c)
		if g.Counts[Done] != n-2 || g.Counts[Failed] != 2 || len(g.Failed) != 2 {
			t.Fatalf("%+v", g.Counts)
		}
		if x := g.Failed[0]; x.Title != "Tune 1" || x.Tries != 1 || !strings.Contains(string(x.Problems), `"line":4`) || !strings.Contains(string(x.Problems), "no-melody") {
			t.Errorf("%+v %s", x, x.Problems)
		}
		if x := g.Failed[1]; x.Title != "Tune 2" || x.Tries != tries || !strings.Contains(string(x.Problems), "press-failed") {
			t.Errorf("%+v %s", x, x.Problems)
		}
		// Mended, only those that failed are made.
		if again, err := p.Retry(context.Background(), run); err != nil || again != 2 {
			t.Errorf("%d again, %v", again, err)
		}
		var c2 Counters
		work(t, s, p, run, maker(s, 0), &c2)
		whole(t, s, p, run, n)
		if c2.Made.Load() != 2 {
			t.Errorf("%d were made", c2.Made.Load())
		}
	})
}

// TestDies: a part whose worker dies each time fails in the end.
func TestDies(t *testing.T) {
	ctx := context.Background()
	onEach(t, func(t *testing.T, at shelf.Place) {
		s, p, run := ready(t, at, 1, Run{})
		err := s.Within(ctx, func(t shelf.Tx) error {
			_, err := t.Exec(ctx, "UPDATE part SET state = 'making', holder = 'dead', beat = '2000-01-01T00:00:00.000000Z', tries = ?", tries)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		if g := work(t, s, p, run, maker(s, 0), nil); g.Counts[Failed] != 1 || !strings.Contains(string(g.Failed[0].Problems), "press-lost") {
			t.Errorf("%+v", g)
		}
	})
}

// TestForgotten: a part that the queue gave to a worker that was killed before it took the
// part up is made all the same.
func TestForgotten(t *testing.T) {
	ctx := context.Background()
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 3
		s, p, run := ready(t, at, n, Run{})
		err := s.Within(ctx, func(t shelf.Tx) error {
			_, err := t.Exec(ctx, "DELETE FROM river_job")
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		work(t, s, p, run, maker(s, 0), nil)
		whole(t, s, p, run, n)
	})
}

// TestCancel: what waits and what is being made is given up, what is done stays.
func TestCancel(t *testing.T) {
	ctx := context.Background()
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 10
		s, p, run := ready(t, at, n, Run{})
		m := func(ctx context.Context, task Task) (Made, error) {
			i, _ := strconv.Atoi(strings.TrimPrefix(task.Part.Title, "Tune "))
			if i < 3 {
				return maker(s, 0)(ctx, task)
			}
			<-ctx.Done() // as long as it may
			return Made{}, context.Cause(ctx)
		}
		var wg sync.WaitGroup
		var c Counters
		wg.Go(func() { work(t, s, p, run, m, &c) })
		until(t, p, run, "work", func(g Progress) bool { return g.Counts[Done] == 3 && len(g.Making) == 2 })
		if given, err := p.Cancel(ctx, run); err != nil || given != n-3 {
			t.Errorf("%d are given up, %v", given, err)
		}
		wg.Wait()
		if g := progress(t, p, run); g.Counts[Done] != 3 || g.Counts[Cancelled] != n-3 {
			t.Errorf("%+v", g.Counts)
		}
		if c.Lost.Load() != 2 {
			t.Errorf("%d have heard of it", c.Lost.Load())
		}
		if _, err := p.Cancel(ctx, run+99); err == nil {
			t.Error("a run that is none")
		}
	})
}

// TestReuse: what was made is not made again; a sheet that changed is.
func TestReuse(t *testing.T) {
	ctx := context.Background()
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 5
		s, p, run := ready(t, at, n, Run{})
		work(t, s, p, run, maker(s, 0), nil)
		done, err := p.Parts(ctx, run, Done)
		if err != nil {
			t.Fatal(err)
		}
		second, err := p.Queue(ctx, Run{What: "scores"}, done)
		if err != nil {
			t.Fatal(err)
		}
		var c Counters
		g := work(t, s, p, second, maker(s, 0), &c)
		if c.Reused.Load() != n || c.Made.Load() != 0 || g.Reused != n {
			t.Errorf("%d made, %d reused", c.Made.Load(), c.Reused.Load())
		}
		whole(t, s, p, second, n)
		cost, err := p.Measured(ctx, "scores", false)
		if err != nil || cost.Of != n || cost.Bytes == 0 {
			t.Errorf("%+v, %v", cost, err)
		}
	})
}

// TestPublish: a run for a territory publishes what its rights carry, and no more.
func TestPublish(t *testing.T) {
	ctx := context.Background()
	onEach(t, func(t *testing.T, at shelf.Place) {
		s, p, run := ready(t, at, 3, Run{Territory: "DE"})
		ts, err := s.Find(ctx, shelf.Query{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.SetRight(ctx, ts[0].ID, shelf.Right{Territory: "DE", Status: leadsheet.Own}); err != nil {
			t.Fatal(err)
		}
		g := work(t, s, p, run, maker(s, 0), nil)
		if g.Counts[Done] != 1 || g.Counts[Failed] != 2 || !strings.Contains(string(g.Failed[0].Problems), "shelf-rights") {
			t.Errorf("%+v", g)
		}
		for i, x := range ts {
			ps, err := s.Publications(ctx, x.ID)
			bs, err2 := s.Builds(ctx, x.ID)
			if err != nil || err2 != nil || len(ps) != len(bs) || (len(ps) == 1) != (i == 0) {
				t.Errorf("%s: %d publications, %d builds, %v", x.Title, len(ps), len(bs), errors.Join(err, err2))
			}
		}
	})
}

// TestStumblingFiles: a store that refuses now and then and is slow costs tries, no part.
func TestStumblingFiles(t *testing.T) {
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 12
		s, p, run := ready(t, at, n, Run{})
		var mu sync.Mutex
		chance := rand.New(rand.NewPCG(1, 2))
		m := func(ctx context.Context, task Task) (Made, error) {
			mu.Lock()
			bad := chance.IntN(4) == 0 && task.Part.Tries < tries
			mu.Unlock()
			if bad {
				return Made{}, errors.New("503 slow down")
			}
			return maker(s, time.Millisecond)(ctx, task)
		}
		var c Counters
		work(t, s, p, run, m, &c)
		whole(t, s, p, run, n)
		if c.Again.Load() == 0 {
			t.Error("nothing stumbled")
		}
	})
}

// TestConnectionsCut: a database that throws out all who are connected, as one that is started
// anew does, again and again, costs no part and ends no worker.
func TestConnectionsCut(t *testing.T) {
	const n = 24
	s, p, run := ready(t, placeOn(t, "postgres"), n, Run{})
	cuts := 0
	m := func(ctx context.Context, task Task) (Made, error) {
		made, err := maker(s, 5*time.Millisecond)(ctx, task)
		if cuts < 3 && task.Part.ID%6 == 0 && task.Part.Tries == 1 {
			cuts++
			// The one who asks is thrown out last, if the server has not ended his query before.
			_ = s.Each(ctx, "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()", nil, func(scan func(...any) error) error {
				var done bool
				return scan(&done)
			})
		}
		return made, err
	}
	cfg := quick()
	cfg.AtOnce = 1
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	err := Work(ctx, s, m, cfg, nil, func(ctx context.Context) (bool, error) {
		g, err := p.Progress(ctx, run)
		return g.Over(), err
	})
	if err != nil {
		t.Fatal(err)
	}
	if cuts != 3 {
		t.Errorf("cut %d times", cuts)
	}
	whole(t, s, p, run, n)
}

// TestServerRestarted: a server of PostgreSQL that is ended amid a run, as a machine that goes off
// ends it, and started again on its data, costs no part, and what was recorded before stands.
func TestServerRestarted(t *testing.T) {
	const n = 14
	s, p, run := ready(t, placeOn(t, "postgres"), n, Run{})
	made := 0
	m := func(ctx context.Context, task Task) (Made, error) {
		out, err := maker(s, time.Millisecond)(ctx, task)
		if made++; made == 4 || soak && made == 11 {
			before := progress(t, p, run)
			sharedtest.RestartPostgres(t)
			after, err := p.Progress(t.Context(), run) // the part's own time may be over
			for range 8 {                              // the first use of a kept connection tells that it is gone
				if err == nil {
					break
				}
				after, err = p.Progress(t.Context(), run)
			}
			if err != nil || after.Counts[Done] < before.Counts[Done] {
				t.Errorf("%d were done, now %d, %v", before.Counts[Done], after.Counts[Done], err)
			}
		}
		return out, err
	}
	cfg := quick()
	cfg.AtOnce = 1              // part by part
	cfg.Stop = 10 * time.Second // the queue may still look for the server that it knew
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	err := Work(ctx, s, m, cfg, nil, func(ctx context.Context) (bool, error) {
		g, err := p.Progress(ctx, run)
		return err == nil && g.Over(), nil // quick time-outs are shorter than a server takes to start
	})
	if err != nil {
		t.Fatal(err)
	}
	if made < n {
		t.Errorf("%d were made", made)
	}
	whole(t, s, p, run, n)
}

// TestQueueIsWhole: a run is queued with all its parts, or not at all.
func TestQueueIsWhole(t *testing.T) {
	ctx := context.Background()
	onEach(t, func(t *testing.T, at shelf.Place) {
		s, p, run := ready(t, at, 2, Run{})
		if _, err := p.Queue(ctx, Run{What: "scores"}, []Part{{Tune: "nobody"}}); err == nil {
			t.Error("a part of a tune that is not there")
		}
		rs, err := p.Runs(ctx)
		if err != nil || len(rs) != 1 || rs[0].ID != run {
			t.Errorf("%+v, %v", rs, err)
		}
		var jobs int
		if err := s.Each(ctx, "SELECT count(*) FROM river_job", nil, func(scan func(...any) error) error { return scan(&jobs) }); err != nil || jobs != 2 {
			t.Errorf("%d are queued, %v", jobs, err)
		}
	})
}

// TestProblemsAreJSON: what a part's row tells can be read back.
func TestProblemsAreJSON(t *testing.T) {
	var ps leadsheet.Problems
	ps.Tell(leadsheet.Error, leadsheet.Pos{Line: 3}, "no-melody")
	w := &Worker{}
	var out []struct{ Code string }
	if err := json.Unmarshal([]byte(w.worded(ps)), &out); err != nil || out[0].Code != "no-melody" {
		t.Errorf("%v, %v", out, err)
	}
}
