package gradatim_test

import (
	"context"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"

	"gradatim"
	"gradatim/internal/sharedtest"
)

// TestPressLessonIntoObjects presses a whole lesson on a shelf whose rows are in PostgreSQL and
// whose files in an object store (gofakes3): it is whole there, every file is what its name says,
// and a second run makes nothing.
func TestPressLessonIntoObjects(t *testing.T) {
	database := sharedtest.Postgres(t) // not in short runs
	ctx := context.Background()
	back := s3mem.New()
	if err := back.CreateBucket("tunes"); err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(gofakes3.New(back).Server())
	defer srv.Close()
	t.Setenv("AWS_ACCESS_KEY_ID", "key-of-a-test")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "secret-of-a-test")
	q := url.Values{"endpoint": {srv.URL}, "region": {"eu-central-1"}, "use_path_style": {"true"}}
	at, err := gradatim.ParseShelfPlace(database, "s3://tunes?"+q.Encode(), true)
	if err != nil {
		t.Fatal(err)
	}
	s, err := gradatim.CreateShelf(ctx, at, gradatim.ShelfConfig{Author: "Ada"})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	sheet := filepath.Join(t.TempDir(), "small.abc")
	if err := os.WriteFile(sheet, []byte("X:1\nT:Small\nM:4/4\nL:1/4\nK:C\n\"C\"CEGE|\"G7\"DFBG|\"C\"C4|]\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	taken, err := s.Take(ctx, []string{sheet}, gradatim.TakeOptions{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Press(ctx)
	if err != nil {
		t.Fatal(err)
	}
	press := func() gradatim.PressProgress {
		plan, err := p.Plan(ctx, "small", gradatim.PressOrder{Job: gradatim.Job{Levels: []int{1}, Audio: gradatim.NoAudio}})
		if err != nil {
			t.Fatal(err)
		}
		run, err := p.Start(ctx, plan)
		if err != nil {
			t.Fatal(err)
		}
		if err := p.Work(ctx, gradatim.PressConfig{}, nil, p.Over(run)); err != nil {
			t.Fatal(err)
		}
		g, err := p.Progress(ctx, run)
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	if g := press(); g.Counts[gradatim.PartDone] != 1 || g.Reused != 0 {
		t.Fatalf("%+v", g)
	}
	b, there, err := s.Newest(ctx, taken[0].Tune, "lesson own")
	if err != nil || !there {
		t.Fatal(there, err)
	}
	names := map[string]bool{}
	for _, f := range b.Files {
		names[f.Path] = true
		data, err := s.File(ctx, f.SHA256) // compares with the hash
		if err != nil || int64(len(data)) != f.Bytes {
			t.Errorf("%s: %d bytes, %v", f.Path, len(data), err)
		}
	}
	for _, want := range []string{"manifest.json", "index.html", "workbook.pdf", "scores/level-1.musicxml", "print/level-1.pdf"} {
		if !names[want] {
			t.Errorf("no %s", want)
		}
	}
	if c, err := s.Check(ctx); err != nil || len(c.Problems) > 0 || c.Loose > 0 {
		t.Errorf("%+v, %v", c, err)
	}
	if g := press(); g.Counts[gradatim.PartDone] != 1 || g.Reused != 1 {
		t.Errorf("again: %+v", g)
	}
}
