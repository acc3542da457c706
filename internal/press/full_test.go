//go:build linux

package press

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/internal/shelf"
	"gradatim/leadsheet"
)

// TestFullDisk: where the disk fills in the middle of a run, that of the files, of an embedded shelf or
// of a database, the worker ends and says where there is no room and how to go on; what was done
// stands, nothing else passes as done, and with room again the rest is made: all of it the bytes that
// are made where there is room enough.
func TestFullDisk(t *testing.T) {
	const n = 32
	wanted := pressedAll(t, placeOn(t, "sqlite"), n)
	cases := []struct {
		name  string
		place func(t *testing.T) (at shelf.Place, disk string)
	}{
		{"sqlite", func(t *testing.T) (shelf.Place, string) {
			disk := sharedtest.Disk(t, "64m")
			at, err := shelf.ParsePlace(filepath.Join(disk, "shelf"), "", false)
			if err != nil {
				t.Fatal(err)
			}
			return at, disk
		}},
		{"postgres, its rows", func(t *testing.T) (shelf.Place, string) {
			disk := sharedtest.Disk(t, "64m")
			at, err := shelf.ParsePlace(sharedtest.PostgresOn(t, disk), t.TempDir(), true)
			if err != nil {
				t.Fatal(err)
			}
			return at, disk
		}},
		{"postgres, its files", func(t *testing.T) (shelf.Place, string) {
			disk := sharedtest.Disk(t, "64m")
			at, err := shelf.ParsePlace(sharedtest.Postgres(t), disk, true)
			if err != nil {
				t.Fatal(err)
			}
			return at, disk
		}},
	}
	for _, c := range cases[:2+1/sharedtest.Every(2, 2)] { // CI has the first two
		t.Run(c.name, func(t *testing.T) {
			at, disk := c.place(t)
			s, p, run := ready(t, at, n, Run{})
			filler := filepath.Join(disk, "filler")
			m := func(ctx context.Context, task Task) (Made, error) {
				if progress(t, p, run).Counts[Done] >= 3 {
					fill(t, filler)
				}
				return largeMaker(s)(ctx, task)
			}
			ctx, cancel := context.WithTimeout(t.Context(), patience)
			defer cancel()
			err := Work(ctx, s, m, quick(), nil, p.Over(run))
			var ps leadsheet.Problems
			if !errors.As(err, &ps) || ps[0].Code != "shelf-full" || ps[0].Pos.File != at.String() || ps[len(ps)-1].Code != "press-waits" {
				t.Fatalf("it ends with %v: %+v", err, progress(t, p, run).Counts)
			}
			g := progress(t, p, run)
			if done := g.Counts[Done]; done < 3 || done == n || g.Counts[Failed] > 0 {
				t.Fatalf("when it is full: %+v", g.Counts)
			}
			standing(t, s, p, run, wanted)
			if err := os.Remove(filler); err != nil {
				t.Fatal(err)
			}
			work(t, s, p, run, largeMaker(s), nil)
			whole(t, s, p, run, n)
			if got := standing(t, s, p, run, wanted); got != n {
				t.Errorf("%d of %d stand", got, n)
			}
			dir := at.Files()
			if dir == "" {
				dir = filepath.Join(at.String(), "files")
			}
			left := 0
			err = filepath.WalkDir(dir, func(_ string, d fs.DirEntry, err error) error {
				if err == nil && !d.IsDir() && d.Name() != "filler" && len(d.Name()) != 64 {
					left++
				}
				return err
			})
			if err != nil || left > 0 {
				t.Errorf("%d files lie about that were never whole, %v", left, err)
			}
		})
	}
}

// largeMaker makes four files of 20 kB that cannot be packed, the same of the same tune. Its pages have
// long words, so that rows soon need more room.
func largeMaker(s *shelf.Shelf) Maker {
	return func(ctx context.Context, task Task) (Made, error) {
		b := shelf.Build{ID: shelf.BuildID(task.Part.Title, "test", task.Run.What), Tune: task.Part.Tune, What: task.Run.What, Program: "test"}
		r := rand.NewChaCha8([32]byte([]byte(fmt.Sprintf("%-32s", task.Part.Title))))
		for i := range 4 {
			data := make([]byte, 20_000)
			_, _ = r.Read(data)
			h, err := s.Keep(ctx, data)
			if err != nil {
				return Made{}, err
			}
			b.Files = append(b.Files, shelf.BuiltFile{Path: fmt.Sprintf("%d.bin", i), Bytes: int64(len(data)), SHA256: h})
			b.Pages = append(b.Pages, shelf.Page{Level: i + 1, Techniques: []shelf.Technique{{ID: fmt.Sprintf("%x", data[:800])}}})
		}
		return Made{Build: b}, nil
	}
}

// fill writes a file until its disk is full.
func fill(t *testing.T, name string) {
	f, err := os.OpenFile(name, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Error(err)
		return
	}
	defer f.Close()
	for _, size := range []int{1 << 20, 4096} {
		for err = nil; err == nil; _, err = f.Write(make([]byte, size)) {
		}
	}
}

// pressedAll is what is made of n tunes where there is room, by title.
func pressedAll(t *testing.T, at shelf.Place, n int) map[string][][]byte {
	t.Helper()
	s, p, run := ready(t, at, n, Run{})
	work(t, s, p, run, largeMaker(s), nil)
	out := map[string][][]byte{}
	for _, x := range parts(t, p, run) {
		out[x.Title] = filesOfPart(t, s, x)
	}
	return out
}

// standing compares the parts of a run that are done with what is wanted, and counts them.
func standing(t *testing.T, s *shelf.Shelf, p *Press, run int64, wanted map[string][][]byte) int {
	t.Helper()
	ps := parts(t, p, run)
	for _, x := range ps {
		if got := filesOfPart(t, s, x); !slices.EqualFunc(got, wanted[x.Title], bytes.Equal) {
			t.Errorf("%s: %d files, not those that are made where there is room", x.Title, len(got))
		}
	}
	return len(ps)
}

func parts(t *testing.T, p *Press, run int64) []Part {
	t.Helper()
	ps, err := p.Parts(t.Context(), run, Done)
	if err != nil {
		t.Fatal(err)
	}
	return ps
}

func filesOfPart(t *testing.T, s *shelf.Shelf, x Part) (out [][]byte) {
	t.Helper()
	b, there, err := s.Build(t.Context(), x.Build)
	if err != nil || !there {
		t.Fatalf("%s: %v, %v", x.Title, there, err)
	}
	for _, f := range b.Files {
		data, err := s.File(t.Context(), f.SHA256)
		if err != nil {
			t.Error(err)
		}
		out = append(out, data)
	}
	return out
}
