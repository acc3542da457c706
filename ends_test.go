package gradatim_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
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

// ending is a call whose context ends in the middle.
type ending struct {
	name  string
	fresh bool // on a session that has made nothing
	long  bool // it opens engraver or piano, and takes so long that CI ends it in its first seconds only; make soak, everywhere
	again bool // it remembers: what is ended is the second call
	call  func(context.Context, *gradatim.Session) error
}

// beginning is the part of a long call in which CI ends it.
const beginning = 4 * time.Second

func endings(t *testing.T, job gradatim.Job) []ending {
	take := gradatim.Take{}
	chord := gradatim.Choice{Level: 5, Bar: 250, Chord: "Em7"}
	return []ending{
		{"Open", false, false, false, func(ctx context.Context, _ *gradatim.Session) error {
			s, err := gradatim.Open(ctx, job)
			if err == nil {
				err = s.Close()
			}
			return err
		}},
		{"Ladder", true, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Ladder(ctx); return err }},
		{"Keys", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Keys(ctx); return err }},
		{"In", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.In(ctx, s.Song().Key); return err }},
		{"MusicXML", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.MusicXML(ctx, 5); return err }},
		// The engraver remembers what it has drawn whole.
		{"PDF, drawn for the first time", false, true, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.PDF(ctx, 5); return err }},
		{"PDF", false, false, true, func(ctx context.Context, s *gradatim.Session) error { _, err := s.PDF(ctx, 1); return err }},
		{"LeadSheet", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.LeadSheet(ctx); return err }},
		{"LeadSheetPDF", false, false, true, func(ctx context.Context, s *gradatim.Session) error { _, err := s.LeadSheetPDF(ctx); return err }},
		{"Account", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Account(ctx, 5); return err }},
		{"Summary", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Summary(ctx); return err }},
		{"PutLadder", false, false, false, func(ctx context.Context, s *gradatim.Session) error {
			set, err := gradatim.BeginSet(t.TempDir())
			if err != nil {
				return err
			}
			defer set.Discard()
			_, _, err = s.PutLadder(ctx, set)
			return err
		}},
		{"MIDI", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, _, err := s.MIDI(ctx, 5, take); return err }},
		{"Record", false, true, false, func(ctx context.Context, s *gradatim.Session) error {
			_, err := s.Record(ctx, io.Discard, 5, take, gradatim.MP3, nil)
			return err
		}},
		{"Lesson", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Lesson(ctx); return err }},
		{"Pack", false, true, false, func(ctx context.Context, s *gradatim.Session) error {
			to, err := gradatim.Folder(filepath.Join(t.TempDir(), "lesson"))
			if err != nil {
				return err
			}
			_, err = s.Pack(ctx, to, nil)
			return err
		}},
		{"RunnersUp", true, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.RunnersUp(ctx, 5, 250); return err }},
		{"Undecided", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Undecided(ctx, 5, 250); return err }},
		{"Change", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Change(ctx, chord); return err }},
		{"Lock", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Lock(ctx, 5, 250, 251); return err }},
		{"LetGo", false, false, false, func(ctx context.Context, s *gradatim.Session) error {
			_, err := s.LetGo(ctx, gradatim.Fixed{Choice: chord})
			return err
		}},
		{"Free", false, false, false, func(ctx context.Context, s *gradatim.Session) error { _, err := s.Free(ctx, 5, 250, 251); return err }},
	}
}

// TestEndsSoon ends the context of each call of a session at many moments of its work on a
// long tune: the call ends soon, with the context's cause.
func TestEndsSoon(t *testing.T) {
	job := gradatim.Job{Sheet: longSheet(t)}
	moments := 8 / sharedtest.Every(4, 2)
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
		t.Cleanup(func() { s.Close() })
		return s
	}
	calls := endings(t, job)
	for m := range reflect.TypeFor[*gradatim.Session]().Methods() {
		takes := m.Type.NumIn() > 1 && m.Type.In(1) == reflect.TypeFor[context.Context]()
		if takes && !slices.ContainsFunc(calls, func(e ending) bool { return e.name == m.Name }) {
			t.Errorf("%s takes a context and is not tried", m.Name)
		}
	}
	for _, tt := range calls {
		t.Run(tt.name, func(t *testing.T) {
			if (tt.long || tt.again) && testing.Short() {
				t.Skip("takes long")
			}
			of := func() *gradatim.Session {
				if tt.fresh {
					return fresh()
				}
				if tt.long { // nothing is opened or drawn yet
					s := fresh()
					if _, err := s.Ladder(t.Context()); err != nil {
						t.Fatal(err)
					}
					return s
				}
				return ready
			}
			whole := beginning
			if !tt.long || sharedtest.Every(4, 2) == 1 {
				s := of()
				if tt.again {
					if err := tt.call(t.Context(), s); err != nil {
						t.Fatal(err)
					}
				}
				start := time.Now()
				if err := tt.call(t.Context(), s); err != nil {
					t.Fatal(err)
				}
				whole = time.Since(start)
			}
			var worst, used, at time.Duration
			for k := range moments {
				s := of()
				wait := whole * time.Duration(2*k+1) / time.Duration(2*moments+1)
				ctx, cancel := context.WithCancelCause(t.Context())
				cause := fmt.Errorf("ended after %v", wait)
				type moment struct {
					at   time.Time
					used time.Duration
				}
				ended := make(chan moment, 1)
				timer := time.AfterFunc(wait, func() { ended <- moment{time.Now(), sharedtest.Spent()}; cancel(cause) })
				err := tt.call(ctx, s)
				now := moment{time.Now(), sharedtest.Spent()}
				if timer.Stop() {
					continue // done before
				}
				then := <-ended
				if late := now.at.Sub(then.at); late > worst {
					worst, used, at = late, now.used-then.used, wait
				}
				if err != nil && !errors.Is(err, cause) {
					t.Errorf("ended after %v: %v", wait, err)
				}
			}
			t.Logf("of %v, ended at most %v after its context (%v of processor time), which ended at %v", whole, worst, used, at)
			third := whole / 3
			if whole == beginning { // as a whole it takes a minute and more
				third = 5 * latest
			}
			if worst > latest && worst > third {
				t.Errorf("ended %v after its context", worst)
			}
		})
	}
}
