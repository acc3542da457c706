package press

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"gradatim/internal/sharedtest"
	"gradatim/internal/shelf"
	"gradatim/leadsheet"
)

func TestMain(m *testing.M) {
	if place := os.Getenv("GRADATIM_TEST_WORKER"); place != "" {
		os.Exit(workerProcess(place))
	}
	code := m.Run()
	sharedtest.StopPostgres()
	os.Exit(code)
}

// quick are time-outs for tests; make soak takes the real ones.
func quick() Config {
	if soak {
		return Config{AtOnce: 2}
	}
	return Config{AtOnce: 2, Beat: 50 * time.Millisecond, Lost: 400 * time.Millisecond, Stop: time.Second, Again: 10 * time.Millisecond}
}

// patience is how long anything may take.
const patience = 150 * time.Second

// soak is set where the tests run in full. (A worker of its own has no flags of tests.)
var soak = os.Getenv("SOAK") == "1"

func onEach(t *testing.T, test func(t *testing.T, at shelf.Place)) {
	for _, e := range []string{"sqlite", "postgres"} {
		t.Run(e, func(t *testing.T) { test(t, placeOn(t, e)) })
	}
}

func placeOn(t *testing.T, engine string) shelf.Place {
	t.Helper()
	var at shelf.Place
	var err error
	if engine == "sqlite" {
		at, err = shelf.ParsePlace(filepath.Join(t.TempDir(), "shelf"), "", false)
	} else {
		at, err = shelf.ParsePlace(sharedtest.Postgres(t), t.TempDir(), true)
	}
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// ready is a shelf with n tunes and a run of a part for each.
func ready(t *testing.T, at shelf.Place, n int, r Run) (*shelf.Shelf, *Press, int64) {
	t.Helper()
	ctx := context.Background()
	s, err := shelf.Create(ctx, at, shelf.Config{Author: "Ada"})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	p, err := Open(ctx, s)
	if err != nil {
		t.Fatal(err)
	}
	var sheets []shelf.Sheet
	for i := range n {
		data := fmt.Appendf(nil, "X:1\nT:Tune %d\nK:C\nCDEF|\n", i)
		sheets = append(sheets, shelf.Sheet{Name: "tune.abc", Data: data, Source: shelf.Source{Name: "tune.abc", Data: data}, Facts: shelf.Facts{Title: fmt.Sprint("Tune ", i)}})
	}
	as, err := s.Add(ctx, sheets...)
	if err != nil {
		t.Fatal(err)
	}
	var parts []Part
	for _, a := range as {
		parts = append(parts, Part{Tune: a.Tune})
	}
	r.What = "scores"
	run, err := p.Queue(ctx, r, parts)
	if err != nil {
		t.Fatal(err)
	}
	return s, p, run
}

// maker makes small files of a tune's sheet, slowly enough to be disturbed.
func maker(s *shelf.Shelf, slow time.Duration) Maker {
	return func(ctx context.Context, task Task) (Made, error) {
		id := shelf.BuildID(task.Part.Tune+task.Part.Key, "test", task.Run.What)
		if b, there, err := s.Build(ctx, id); err != nil || there {
			return Made{b, true}, err
		}
		sheet, err := s.SheetOf(ctx, task.Part.Tune)
		if err != nil {
			return Made{}, err
		}
		b := shelf.Build{ID: id, Tune: task.Part.Tune, What: task.Run.What, Program: "test"}
		for i := range 4 {
			select {
			case <-ctx.Done():
				return Made{}, context.Cause(ctx)
			case <-time.After(slow):
			}
			data := fmt.Appendf(nil, "file %d of\n%s", i, sheet)
			h, err := s.Keep(ctx, data)
			if err != nil {
				return Made{}, err
			}
			b.Files = append(b.Files, shelf.BuiltFile{Path: fmt.Sprintf("%d.txt", i), Bytes: int64(len(data)), SHA256: h})
			task.Progress(float64(i+1) / 4)
		}
		return Made{Build: b}, nil
	}
}

// workerProcess is a worker of its own, for tests that kill it.
func workerProcess(place string) int {
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	at, err := shelf.ParsePlace(place, os.Getenv("GRADATIM_TEST_FILES"), true)
	if err != nil {
		fmt.Println(err)
		return 1
	}
	s, err := shelf.Open(ctx, at, shelf.Config{Author: "Ada"})
	if err != nil {
		fmt.Println(err)
		return 1
	}
	defer s.Close()
	slow, _ := time.ParseDuration(os.Getenv("GRADATIM_TEST_SLOW"))
	term := make(chan os.Signal, 1)
	notify(term)
	go func() { <-term; stop() }()
	fmt.Println("working")
	if err := Work(ctx, s, maker(s, slow), quick(), nil, nil); err != nil {
		fmt.Println(err)
		return 1
	}
	return 0
}

// process is a worker in a process of its own.
func process(t *testing.T, at shelf.Place, files string, slow time.Duration) *exec.Cmd {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	place := at.Listen()
	if place == "" {
		place = at.String()
	}
	c := exec.Command(exe)
	c.Env = append(os.Environ(), "GRADATIM_TEST_WORKER="+place, "GRADATIM_TEST_FILES="+files, "GRADATIM_TEST_SLOW="+slow.String())
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	lines := bufio.NewScanner(out)
	if !lines.Scan() || lines.Text() != "working" {
		t.Fatalf("the worker says %q", lines.Text())
	}
	return c
}

func progress(t *testing.T, p *Press, run int64) Progress {
	t.Helper()
	g, err := p.Progress(context.Background(), run)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// until waits for something of a run.
func until(t *testing.T, p *Press, run int64, what string, is func(Progress) bool) Progress {
	t.Helper()
	end := time.Now().Add(patience)
	for time.Now().Before(end) {
		if g := progress(t, p, run); is(g) {
			return g
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Fatalf("it never came to %s: %+v", what, progress(t, p, run).Counts)
	return Progress{}
}

// work works until a run is over.
func work(t *testing.T, s *shelf.Shelf, p *Press, run int64, m Maker, c *Counters) Progress {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	err := Work(ctx, s, m, quick(), c, func(ctx context.Context) (bool, error) {
		g, err := p.Progress(ctx, run)
		return g.Over(), err
	})
	if err != nil {
		t.Fatal(err)
	}
	return progress(t, p, run)
}

// whole makes sure that every part was made once, and everything verifies.
func whole(t *testing.T, s *shelf.Shelf, p *Press, run int64, n int) {
	t.Helper()
	ctx := context.Background()
	if g := progress(t, p, run); g.Counts[Done] != n || !g.Over() {
		t.Fatalf("%+v", g.Counts)
	}
	c, err := s.Check(ctx)
	if err != nil || len(c.Problems) > 0 {
		t.Errorf("%+v, %v", c, err)
	}
	ts, err := s.Find(ctx, shelf.Query{})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range ts {
		bs, err := s.Builds(ctx, x.ID)
		if err != nil || len(bs) != 1 {
			t.Errorf("%s has %d builds, %v", x.Title, len(bs), err)
			continue
		}
		b, _, err := s.Build(ctx, bs[0].ID)
		if err != nil || len(b.Files) != 4 {
			t.Errorf("%s: %d files, %v", x.Title, len(b.Files), err)
		}
	}
}

func filesOf(t *testing.T, at shelf.Place) string { t.Helper(); return at.Files() }

// TestKilled: a worker is killed at 10, 50 and 90 % of a run, as by the system, also in
// the middle of writing; whoever comes next makes the rest, and everything is there once.
func TestKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts programs")
	}
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 20
		s, p, run := ready(t, at, n, Run{})
		for _, share := range []int{10, 50, 90} {
			c := process(t, at, filesOf(t, at), 3*time.Millisecond)
			until(t, p, run, fmt.Sprint(share, " %"), func(g Progress) bool { return 100*g.Counts[Done] >= share*n })
			if err := c.Process.Kill(); err != nil {
				t.Fatal(err)
			}
			_ = c.Wait()
		}
		work(t, s, p, run, maker(s, 0), nil)
		whole(t, s, p, run, n)
	})
}

// TestAsleep: a worker that is stopped for longer than parts are waited for, and goes on,
// does no harm: its parts were made by another, the same bytes, and it puts none in their
// place.
func TestAsleep(t *testing.T) {
	if testing.Short() {
		t.Skip("starts programs")
	}
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 6
		s, p, run := ready(t, at, n, Run{})
		c := process(t, at, filesOf(t, at), 40*time.Millisecond)
		until(t, p, run, "work", func(g Progress) bool { return len(g.Making) > 0 })
		if err := c.Process.Signal(syscall.SIGSTOP); err != nil {
			t.Fatal(err)
		}
		work(t, s, p, run, maker(s, 0), nil)
		if err := c.Process.Signal(syscall.SIGCONT); err != nil {
			t.Fatal(err)
		}
		time.Sleep(300 * time.Millisecond)
		if err := c.Process.Signal(syscall.SIGTERM); err != nil {
			t.Fatal(err)
		}
		if err := c.Wait(); err != nil {
			t.Error(err)
		}
		whole(t, s, p, run, n)
	})
}

// TestTold: a worker that is told to end is gone within its time and a second, and loses
// nothing.
func TestTold(t *testing.T) {
	if testing.Short() {
		t.Skip("starts programs")
	}
	onEach(t, func(t *testing.T, at shelf.Place) {
		const n = 8
		s, p, run := ready(t, at, n, Run{})
		c := process(t, at, filesOf(t, at), time.Minute)
		until(t, p, run, "work", func(g Progress) bool { return len(g.Making) > 0 })
		began := time.Now()
		if err := c.Process.Signal(syscall.SIGTERM); err != nil {
			t.Fatal(err)
		}
		if err := c.Wait(); err != nil {
			t.Error(err)
		}
		if took := time.Since(began); took > quick().withDefaults().Stop+time.Second {
			t.Errorf("it took %v to end", took)
		}
		g := progress(t, p, run)
		if g.Counts[Waiting] != n {
			t.Errorf("what was begun does not wait: %+v", g.Counts)
		}
		g = work(t, s, p, run, maker(s, 0), nil)
		whole(t, s, p, run, n)
		ps, err := p.Parts(context.Background(), run, Done)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range ps {
			if x.Tries != 1 {
				t.Errorf("a part that was broken off counts %d tries", x.Tries)
			}
		}
	})
}

// TestTwoWorkers: of two workers with many parts each makes some, and each part is made
// once.
func TestTwoWorkers(t *testing.T) {
	onEach(t, func(t *testing.T, at shelf.Place) {
		n := 60
		if soak {
			n = 200
		}
		s, p, run := ready(t, at, n, Run{})
		var made [2]Counters
		var times sync.Map
		m := func(ctx context.Context, task Task) (Made, error) {
			c, _ := times.LoadOrStore(task.Part.ID, new(atomic.Int64))
			c.(*atomic.Int64).Add(1)
			return maker(s, time.Millisecond)(ctx, task)
		}
		var wg sync.WaitGroup
		for i := range made {
			wg.Go(func() { work(t, s, p, run, m, &made[i]) })
		}
		wg.Wait()
		whole(t, s, p, run, n)
		if a, b := made[0].Made.Load(), made[1].Made.Load(); a+b != int64(n) || a == 0 || b == 0 {
			t.Errorf("%d and %d of %d", a, b, n)
		}
		times.Range(func(id, c any) bool {
			if c.(*atomic.Int64).Load() != 1 {
				t.Errorf("part %v was made %d times", id, c.(*atomic.Int64).Load())
			}
			return true
		})
	})
}

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
