package gradatim_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"gradatim"
	"gradatim/internal/sharedtest"
)

// longSheet is a sheet of 512 bars: a waltz of 32, sixteen times.
func longSheet(t *testing.T) gradatim.File {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Path(t, "tunes"), "original.abc"))
	if err != nil {
		t.Fatal(err)
	}
	_, tune, _ := bytes.Cut(data, []byte("X:2\n"))
	tune, _, _ = bytes.Cut(tune, []byte("\n\n"))
	head, body, ok := strings.Cut(string(tune), "\nK:G\n")
	if !ok {
		t.Fatal("the tune has another key")
	}
	body = strings.Replace(body, "|]", "|", 1) + "\n"
	return gradatim.File{Name: "long.abc", Data: []byte("X:1\n" + head + "\nK:G\n" + strings.Repeat(body, 16))}
}

// latest is how late a call may end after its context, where that is also more than a
// third of what it takes as a whole. It is many times what is measured on an idle machine
// (docs/performance.md), as tests run on busy ones.
const latest = time.Second

// TestEndsSoon ends the context of each call of a session at many moments of its work on a
// long tune: the call ends soon, with the context's cause.
func TestEndsSoon(t *testing.T) {
	job := gradatim.Job{Sheet: longSheet(t)}
	moments := 8
	if testing.Short() {
		moments = 2
	}
	ready, err := gradatim.Open(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	defer ready.Close()
	if _, err := ready.Ladder(t.Context()); err != nil {
		t.Fatal(err)
	}
	fresh := func() *gradatim.Session {
		s, err := gradatim.Open(t.Context(), job)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	take := gradatim.Take{}
	for _, tt := range []struct {
		name  string
		fresh bool // on a session that has made nothing
		call  func(context.Context, *gradatim.Session) error
	}{
		{"Open", false, func(ctx context.Context, _ *gradatim.Session) error {
			s, err := gradatim.Open(ctx, job)
			if err == nil {
				err = s.Close()
			}
			return err
		}},
		{"Ladder", true, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Ladder(ctx); return err }},
		{"MusicXML", false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.MusicXML(ctx, 5); return err }},
		{"LeadSheet", false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.LeadSheet(ctx); return err }},
		{"Account", false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Account(ctx, 5); return err }},
		{"Summary", false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Summary(ctx); return err }},
		{"MIDI", false, func(ctx context.Context, s *gradatim.Session) error { _, _, err := s.MIDI(ctx, 5, take); return err }},
		{"Lesson", false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Lesson(ctx); return err }},
		{"RunnersUp", true, func(ctx context.Context, s *gradatim.Session) error { _, err := s.RunnersUp(ctx, 5, 250); return err }},
		{"Lock", false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Lock(ctx, 5, 250, 251); return err }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			start := time.Now()
			s := ready
			if tt.fresh {
				s = fresh()
			}
			if err := tt.call(t.Context(), s); err != nil {
				t.Fatal(err)
			}
			whole := time.Since(start)
			var worst, at time.Duration
			for k := range moments {
				s := ready
				if tt.fresh {
					s = fresh()
				}
				wait := whole * time.Duration(2*k+1) / time.Duration(2*moments+1)
				ctx, cancel := context.WithCancelCause(t.Context())
				cause := fmt.Errorf("ended after %v", wait)
				ended := make(chan time.Time, 1)
				timer := time.AfterFunc(wait, func() { ended <- time.Now(); cancel(cause) })
				err := tt.call(ctx, s)
				now := time.Now()
				if timer.Stop() {
					continue // done before
				}
				if late := now.Sub(<-ended); late > worst {
					worst, at = late, wait
				}
				if err != nil && !errors.Is(err, cause) {
					t.Errorf("ended after %v: %v", wait, err)
				}
				runtime.Gosched()
			}
			t.Logf("the whole takes %v, ended at most %v after its context, which ended at %v", whole, worst, at)
			if worst > latest && worst > whole/3 {
				t.Errorf("ended %v after its context", worst)
			}
		})
	}
}
