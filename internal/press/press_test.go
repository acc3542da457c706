//go:build unix

package press

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"gradatim/internal/sharedtest"
	"gradatim/internal/shelf"
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

// TestSameOnBoth: what is pressed of the same tunes is the same files on both engines, name by name
// and byte by byte, killed in the middle of writing them or not.
func TestSameOnBoth(t *testing.T) {
	if testing.Short() {
		t.Skip("starts programs")
	}
	const n = 6
	made := map[string][]shelf.BuiltFile{} // of a build
	whole := map[string][]byte{}           // by hash
	for i, e := range []string{"sqlite", "postgres"} {
		at := placeOn(t, e)
		s, p, run := ready(t, at, n, Run{})
		c := process(t, at, filesOf(t, at), 100*time.Millisecond)
		// Of a part that lives on some files are kept, and none is recorded.
		until(t, p, run, "writing", func(g Progress) bool { return len(g.Making) > 0 && g.Making[0].Share > 0 })
		if err := c.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = c.Wait()
		work(t, s, p, run, maker(s, 0), nil)
		done, err := p.Parts(t.Context(), run, Done)
		if err != nil || len(done) != n {
			t.Fatalf("%s: %d parts, %v", e, len(done), err)
		}
		for _, x := range done {
			b, _, err := s.Build(t.Context(), x.Build)
			if err != nil {
				t.Fatal(err)
			}
			if i == 0 {
				made[b.ID] = b.Files
			} else if !slices.Equal(made[b.ID], b.Files) {
				t.Errorf("%s: %v on SQLite, %v on PostgreSQL", x.Title, made[b.ID], b.Files)
			}
			for _, f := range b.Files {
				data, err := s.File(t.Context(), f.SHA256)
				if err != nil || i == 1 && !bytes.Equal(data, whole[f.SHA256]) {
					t.Errorf("%s: %v, or not the bytes of the other", f.Path, err)
				}
				whole[f.SHA256] = data
			}
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
