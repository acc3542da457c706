package gradatim_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"gradatim"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func open(t *testing.T, job gradatim.Job) *gradatim.Session {
	t.Helper()
	s, err := gradatim.Open(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

func pages(t *testing.T, s *gradatim.Session) []gradatim.Page {
	t.Helper()
	ps, err := s.Ladder(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range ps {
		if p.Failed {
			t.Fatalf("level %d: %v", p.Level.Number, p.Problems)
		}
	}
	return ps
}

// samePages compares what the pages of two sessions sound and look like.
func samePages(t *testing.T, what string, a, b *gradatim.Session) {
	t.Helper()
	for i, p := range pages(t, a) {
		if q := pages(t, b)[i]; !reflect.DeepEqual(p, q) {
			t.Errorf("%s: another page of level %d", what, p.Level.Number)
		}
	}
}

func TestOpenRefuses(t *testing.T) {
	with := func(change func(*gradatim.Job)) gradatim.Job {
		job := minuetJob()
		change(&job)
		return job
	}
	for _, tt := range []struct {
		name string
		job  gradatim.Job
		code string
	}{
		{"no sheet", gradatim.Job{}, "job-sheet"},
		{"no music", with(func(j *gradatim.Job) { j.Sheet.Data = []byte("hello") }), "key-missing"},
		{"a tune that is not there", with(func(j *gradatim.Job) { j.Tune = 3 }), "tune-missing"},
		{"an option", with(func(j *gradatim.Job) { j.Tempo = -1 }), "job-option"},
		{"a level that is not there", with(func(j *gradatim.Job) { j.Levels = []int{1, 9} }), "level-unknown"},
		{"a style that is not there", with(func(j *gradatim.Job) { j.Style = "heavy" }), "job-option"},
		{"a level file", with(func(j *gradatim.Job) { j.OwnLevels = []gradatim.File{{Name: "l.toml", Data: []byte("?")}} }), "level-syntax"},
		{"a style file", with(func(j *gradatim.Job) { j.OwnStyles = []gradatim.File{{Name: "s.toml", Data: []byte("?")}} }), "idiom-syntax"},
		{"rights", with(func(j *gradatim.Job) { j.Rights = gradatim.File{Name: "r.toml", Data: []byte("?")} }), "rights-syntax"},
		{"choices", with(func(j *gradatim.Job) { j.Choices = gradatim.File{Name: "c.toml", Data: []byte("?")} }), "choice-syntax"},
		{"choices that name a file", with(func(j *gradatim.Job) {
			j.Choices = gradatim.File{Name: "c.toml", Data: []byte("version = 2\n[[lock]]\nlevel = 1\nfile = \"bars.txt\"\n")}
		}), "choice-file"},
	} {
		s, err := gradatim.Open(t.Context(), tt.job)
		var ps leadsheet.Problems
		if !errors.As(err, &ps) || ps[0].Code != tt.code || s != nil {
			t.Errorf("%s: %v, want %s", tt.name, err, tt.code)
		}
	}
	ended, cancel := context.WithCancelCause(t.Context())
	cancel(io.ErrUnexpectedEOF)
	if _, err := gradatim.Open(ended, minuetJob()); err != io.ErrUnexpectedEOF {
		t.Errorf("a context that has ended: %v", err)
	}
	if _, err := open(t, minuetJob(1)).Ladder(ended); err != io.ErrUnexpectedEOF {
		t.Errorf("a context that has ended: %v", err)
	}
}

// TestOptionsReachThePage: what a job says is what its pages have.
func TestOptionsReachThePage(t *testing.T) {
	plain := pages(t, open(t, minuetJob(2)))[0]
	for _, tt := range []struct {
		name   string
		change func(*gradatim.Job)
		holds  func(gradatim.Page) bool
	}{
		{"key", func(j *gradatim.Job) { j.Keys = []gradatim.Key{"Bb"} }, func(p gradatim.Page) bool { return p.Key.Tonic.String() == "Bb" && p.Score.Bars[0].Key == p.Key }},
		{"easy key", func(j *gradatim.Job) { j.Keys = []gradatim.Key{gradatim.EasyKey} }, func(p gradatim.Page) bool { return p.Key.Tonic.String() == "C" }},
		{"tempo", func(j *gradatim.Job) { j.Tempo = 66 }, func(p gradatim.Page) bool { return p.Score.Tempo.PerMinute == 66 }},
		{"feel", func(j *gradatim.Job) { j.Feel = leadsheet.Swing }, func(p gradatim.Page) bool { return p.Score.Feel == leadsheet.Swing }},
		{"style", func(j *gradatim.Job) { j.Style, j.Manner = "hymn", gradatim.Stay }, func(p gradatim.Page) bool { return p.Style == "hymn" }},
		{"no fingers", func(j *gradatim.Job) { j.Fingers = gradatim.NoFingers }, func(p gradatim.Page) bool { return fingers(p.Printed) == 0 && fingers(p.Score) > 0 }},
		{"all fingers", func(j *gradatim.Job) { j.Fingers = gradatim.AllFingers }, func(p gradatim.Page) bool { return fingers(p.Printed) > fingers(plain.Printed) }},
		{"an own level", func(j *gradatim.Job) {
			j.Levels, j.OwnLevels = []int{6}, []gradatim.File{example(t, "own-level.toml")}
		}, func(p gradatim.Page) bool { return p.Level.Name == "wide awake" }},
		{"an own style", func(j *gradatim.Job) {
			j.Style, j.OwnStyles = "drone", []gradatim.File{{Name: "drone.toml", Data: []byte("name = \"drone\"\nmanner = \"stay\"\n[dynamics]\nrest = \"mf\"\ncontrast = \"f\"\n[[level]]\nfrom = 1\nleft = [\"held-root\"]\n")}}
		}, func(p gradatim.Page) bool { return p.Style == "drone" }},
	} {
		job := minuetJob(2)
		tt.change(&job)
		if p := pages(t, open(t, job))[0]; !tt.holds(p) || reflect.DeepEqual(p.Printed, plain.Printed) {
			t.Errorf("%s: not on the page (%s, %s, %v)", tt.name, p.Key, p.Style, p.Score.Tempo)
		}
	}
	job := minuetJob(4)
	job.Hand, _ = gradatim.ParseHand("octave")
	for _, n := range spans(pages(t, open(t, job))[0].Score) {
		if n > 12 {
			t.Errorf("a hand of an octave is asked for %d half steps at once", n)
		}
	}
}

// spans lists how wide each hand is stretched where it strikes several keys.
func spans(s score.Score) []int {
	type strike struct {
		hand score.Hand
		at   theory.Dur
	}
	low, high := map[strike]int{}, map[strike]int{}
	for _, n := range s.Notes {
		k := strike{n.Hand, n.At}
		if n.Marks.Has(score.Rolled) || n.Grace > 0 {
			continue
		}
		if low[k] == 0 {
			low[k] = n.Pitch.MIDI()
		}
		low[k], high[k] = min(low[k], n.Pitch.MIDI()), max(high[k], n.Pitch.MIDI())
	}
	var out []int
	for k := range low {
		out = append(out, high[k]-low[k])
	}
	return out
}

func fingers(s score.Score) (n int) {
	for _, x := range s.Notes {
		if x.Finger > 0 {
			n++
		}
	}
	return n
}

// TestChange: a session after changes is the session of the job that it tells, and
// taking a choice back takes back what it did.
func TestChange(t *testing.T) {
	first := open(t, minuetJob(1, 2))
	was := pages(t, first)
	s, err := first.Change(t.Context(), gradatim.Choice{Level: 2, Bar: 2, Chord: "Am7"},
		gradatim.Choice{Level: 1, Bar: 3, Hand: score.Left, Figure: "G2@1:3/4"})
	if err != nil {
		t.Fatal(err)
	}
	samePages(t, "changed", s, open(t, s.Job()))
	for i, p := range pages(t, s) {
		if reflect.DeepEqual(p.Score, was[i].Score) {
			t.Errorf("level %d: nothing has changed", p.Level.Number)
		}
	}
	if !reflect.DeepEqual(pages(t, first), was) {
		t.Error("the session that was changed is another")
	}
	// A later choice for the same place takes the place of the earlier.
	again, err := s.Change(t.Context(), gradatim.Choice{Level: 2, Bar: 2, Chord: "C6"})
	if err != nil {
		t.Fatal(err)
	}
	if text := string(again.Job().Choices.Data); strings.Contains(text, "Am7") || !strings.Contains(text, "C6") || !strings.Contains(text, "G2@1") {
		t.Errorf("choices after a change of mind:\n%s", text)
	}
	samePages(t, "changed again", again, open(t, again.Job()))
	freed, err := s.Free(t.Context(), 2, 2)
	if err == nil {
		freed, err = freed.Free(t.Context(), 1, 3)
	}
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range pages(t, freed) {
		if !reflect.DeepEqual(p.Score, was[i].Score) {
			t.Errorf("level %d: the page without choices is not what it was before", p.Level.Number)
		}
	}
	for _, c := range []gradatim.Choice{{Level: 2, Bar: 99, Chord: "C"}, {Level: 2, Bar: 2, Chord: "Hm?"}, {Level: 7, Bar: 1, Chord: "C"}, {Level: 2, Bar: 2}} {
		var ps leadsheet.Problems
		if _, err := first.Change(t.Context(), c); !errors.As(err, &ps) || ps[0].Pos.File == "" || ps[0].Fix == "" {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// TestChangeKeepsTheTeachersText: the file of choices is hers; what is added stands
// below it.
func TestChangeKeepsTheTeachersText(t *testing.T) {
	job := minuetJob(2)
	mine := "version = 2 # hers\n\n# the C in bar 2 is too plain\n[[choice]]\nlevel = 2\nbar = 2\nchord = \"Am7\"\n"
	job.Choices = gradatim.File{Name: "c.toml", Data: []byte(mine)}
	s, err := open(t, job).Change(t.Context(), gradatim.Choice{Level: 2, Bar: 6, Chord: "C"})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(s.Job().Choices.Data, []byte(mine)) || !strings.Contains(string(s.Job().Choices.Data), "bar = 6") {
		t.Errorf("choices:\n%s", s.Job().Choices.Data)
	}
}

// TestLock: locked bars stay when all else is made plainer.
func TestLock(t *testing.T) {
	first := open(t, minuetJob(3))
	was := pages(t, first)[0].Score
	s, err := first.Lock(t.Context(), 3, 5, 6)
	if err != nil {
		t.Fatal(err)
	}
	job := s.Job()
	job.Style, job.Manner = "hymn", gradatim.Stay
	now := pages(t, open(t, job))[0].Score
	locked, others := 0, 0
	for i, b := range was.Bars {
		same := notesIn(was, b) == notesIn(now, now.Bars[i])
		switch {
		case b.Number == 5 || b.Number == 6:
			locked++
			if !same {
				t.Errorf("bar %d was locked:\n%s\n%s", b.Number, notesIn(was, b), notesIn(now, b))
			}
		case !same:
			others++
		}
	}
	if locked != 2 || others == 0 {
		t.Errorf("%d locked bars, %d others changed", locked, others)
	}
	if _, err := first.Lock(t.Context(), 3, 77); err == nil {
		t.Error("bar 77 was locked")
	}
	if _, err := first.Lock(t.Context(), 4, 1); err == nil {
		t.Error("a level was locked that is not in the ladder")
	}
}

func notesIn(s score.Score, b score.Bar) string {
	var out strings.Builder
	for _, n := range s.Notes {
		if n.At >= b.At && n.At < b.End() {
			out.WriteString(n.Hand.String() + n.Pitch.String() + "@" + (n.At - b.At).String() + ":" + n.Dur.String() + " ")
		}
	}
	return out.String()
}

// TestRunnersUp: the price that a runner-up names is what the page then costs more, so
// that going back to the first names the same price below zero.
func TestRunnersUp(t *testing.T) {
	s := open(t, minuetJob(3))
	decisions, hands := 0, map[score.Hand]int{}
	for bar := 1; bar <= 8; bar++ {
		ds, err := s.RunnersUp(t.Context(), 3, bar)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range ds {
			decisions++
			hands[d.Hand]++
			if d.Fixed || d.Bar != bar || len(d.Runners) == 0 || d.Runners[0].Extra != 0 {
				t.Fatalf("bar %d: %+v", bar, d)
			}
			for i, r := range d.Runners {
				if r.Extra < 0 || i > 0 && r.Extra < d.Runners[i-1].Extra || len(r.Choices) == 0 {
					t.Errorf("bar %d: runner %d of %v: %+v", bar, i, d.Hand, r)
				}
			}
		}
	}
	if decisions < 16 || hands[score.Left] < 8 || hands[0] < 8 {
		t.Errorf("%d decisions, %v", decisions, hands)
	}
	ds, _ := s.RunnersUp(t.Context(), 3, 2)
	taken := ds[len(ds)-1].Runners[1]
	next, err := s.Change(t.Context(), taken.Choices...)
	if err != nil {
		t.Fatal(err)
	}
	after, err := next.RunnersUp(t.Context(), 3, 2)
	if err != nil {
		t.Fatal(err)
	}
	d := after[len(after)-1]
	if !d.Fixed || d.Runners[0].Text != taken.Text || d.Runners[1].Extra != -taken.Extra {
		t.Errorf("taken at %+d; to go back costs %+d (%s, fixed: %t)", taken.Extra, d.Runners[1].Extra, d.Runners[0].Text, d.Fixed)
	}
	open, err := next.Undecided(t.Context(), 3, 2)
	if err != nil {
		t.Fatal(err)
	}
	if len(open) != len(after)-1 {
		t.Errorf("%d of %d decisions are open", len(open), len(after))
	}
	if _, err := s.RunnersUp(t.Context(), 3, 44); err == nil {
		t.Error("bar 44 has runners-up")
	}
}

// TestKeys: a job of several keys is a session of each, and nothing is made twice.
func TestKeys(t *testing.T) {
	job := minuetJob(1)
	job.Keys = []gradatim.Key{gradatim.OwnKey, "F", "G"} // G is the tune's own
	s := open(t, job)
	keys, err := s.Keys(t.Context())
	if err != nil || len(keys) != 2 {
		t.Fatalf("keys %v, %v", keys, err)
	}
	in, err := s.In(t.Context(), keys[1])
	if err != nil {
		t.Fatal(err)
	}
	if p := pages(t, in)[0]; p.Key.Tonic.String() != "F" || p.Score.Bars[0].Key != p.Key {
		t.Errorf("in F there is a page in %s", p.Key)
	}
	samePages(t, "in F", in, open(t, in.Job()))
	if _, err := s.In(t.Context(), theory.Key{Tonic: theory.Name{Letter: theory.B}, Mode: theory.Major}); err == nil {
		t.Error("there are pages in B")
	}
}

// TestExports: each file is what its format begins with, and the same from another
// session.
func TestExports(t *testing.T) {
	ctx := t.Context()
	a, b := open(t, minuetJob(2)), open(t, minuetJob(2))
	for _, tt := range []struct {
		name, head string
		get        func(*gradatim.Session) ([]byte, error)
	}{
		{"MusicXML", "<?xml", func(s *gradatim.Session) ([]byte, error) { return s.MusicXML(ctx, 2) }},
		{"lead sheet", "<?xml", func(s *gradatim.Session) ([]byte, error) { return s.LeadSheet(ctx) }},
		{"MIDI", "MThd", func(s *gradatim.Session) ([]byte, error) { x, _, err := s.MIDI(ctx, 2, gradatim.Take{}); return x, err }},
		{"account", "{", func(s *gradatim.Session) ([]byte, error) { return s.Account(ctx, 2) }},
		{"summary", "{", func(s *gradatim.Session) ([]byte, error) { return s.Summary(ctx) }},
	} {
		x, err := tt.get(a)
		if err != nil {
			t.Fatalf("%s: %v", tt.name, err)
		}
		y, err := tt.get(b)
		if err != nil || !bytes.HasPrefix(x, []byte(tt.head)) || !bytes.Equal(x, y) {
			t.Errorf("%s: %d bytes, then %d (%v)", tt.name, len(x), len(y), err)
		}
	}
	xml, err := a.MusicXML(ctx, 2)
	if err != nil {
		t.Fatal(err)
	}
	read, _, err := gradatim.ReadScore("page", xml)
	if err != nil || len(read.Notes) != len(pages(t, a)[0].Score.Notes) {
		t.Errorf("read back: %d notes, %v", len(read.Notes), err)
	}
	if _, err := a.MusicXML(ctx, 3); err == nil {
		t.Error("a page of a level that was not asked for")
	}
	slow, _, err := a.MIDI(ctx, 2, gradatim.Take{Percent: 50, Hands: gradatim.LeftAlone})
	if whole, _, _ := a.MIDI(ctx, 2, gradatim.Take{}); err != nil || len(slow) >= len(whole) {
		t.Errorf("the left hand alone has %d bytes of %d, %v", len(slow), len(whole), err)
	}
	lesson, err := a.Lesson(ctx)
	if err != nil || len(lesson.Levels) != 1 || lesson.Levels[0].Number != 2 || lesson.Title != "A Small Minuet" {
		t.Errorf("lesson %q, %d levels, %v", lesson.Title, len(lesson.Levels), err)
	}
}

// TestSessionIsShared: many may ask at the same time, and get the same.
func TestSessionIsShared(t *testing.T) {
	s := open(t, minuetJob(1, 2))
	var all [8][]gradatim.Page
	var wait sync.WaitGroup
	for i := range all {
		wait.Go(func() {
			all[i], _ = s.Ladder(t.Context())
			_, _ = s.MusicXML(t.Context(), 1+i%2)
			_, _ = s.RunnersUp(t.Context(), 1+i%2, 1+i)
		})
	}
	wait.Wait()
	for _, ps := range all {
		if len(ps) != 2 || !reflect.DeepEqual(ps, all[0]) {
			t.Error("two pages from one session")
		}
	}
}

// TestRepeatsReachThePage: what a sheet repeats is printed once or written out.
func TestRepeatsReachThePage(t *testing.T) {
	job := minuetJob(1, 5)
	job.Introduction, job.Ending = gradatim.Nothing, gradatim.Nothing
	job.Sheet.Data = []byte(strings.Replace(minuet, `"Em"E`, `:|"Em"E`, 1))
	for _, tt := range []struct {
		how  gradatim.Repeats
		bars []int
	}{{gradatim.ByLevel, []int{8, 12}}, {gradatim.Fold, []int{8, 8}}, {gradatim.Written, []int{12, 12}}} {
		job.Repeats = tt.how
		var bars []int
		for _, p := range pages(t, open(t, job)) {
			bars = append(bars, len(p.Score.Bars))
		}
		if !slices.Equal(bars, tt.bars) {
			t.Errorf("%s: %v bars, want %v", tt.how, bars, tt.bars)
		}
	}
}
