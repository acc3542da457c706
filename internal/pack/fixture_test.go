package pack_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"gradatim"
	"gradatim/assets"
	"gradatim/internal/account"
	"gradatim/internal/edition"
	"gradatim/internal/engrave"
	"gradatim/internal/hand"
	"gradatim/internal/imprint"
	"gradatim/internal/ladder"
	"gradatim/internal/pack"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/internal/studio"
	"gradatim/internal/teach"
	"gradatim/leadsheet"
)

// A short tune of our own: eight bars with a pick-up, so that recordings are
// short too.
const ferryLamp = `X:1
T:Ferry Lamp
C:written for the tests
M:4/4
L:1/4
Q:1/4=120
K:G
D|"G"G B d>B|"Em"e d B G|"C"E G c E|"D7"F A d D|
"G"G B d>B|"Em"e d B G|"Am"A c "D7"B A|"G"G3||
`

var engraver = sync.OnceValues(func() (*engrave.Engraver, error) { return engrave.New(engrave.Config{}) })

var recorder = sync.OnceValues(studio.NewRecorder)

// tools are the real ones; in a program built without its assets the tests are
// passed over, but not in CI. So are all that make a lesson under -short.
func tools(t testing.TB, sound bool) pack.Tools {
	t.Helper()
	if testing.Short() {
		t.Skip("makes a lesson")
	}
	g, err := engraver()
	missing(t, err)
	out := pack.Tools{Engraver: g, Takes: perform.PracticeSet()}
	if sound {
		r, err := recorder()
		missing(t, err)
		out.Recorder = r.At(pack.Kbps)
	}
	return out
}

func missing(t testing.TB, err error) {
	t.Helper()
	var m *assets.MissingError
	if errors.As(err, &m) {
		sharedtest.Absent(t, err.Error())
	}
	if err != nil {
		t.Fatal(err)
	}
}

func read(t testing.TB, abc string) leadsheet.Song {
	t.Helper()
	s, err := gradatim.Read("tune.abc", []byte(abc), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// inputOf arranges a song at some levels, in each of the keys.
func inputOf(t testing.TB, song leadsheet.Song, levels string, opts ...edition.Options) pack.Input {
	t.Helper()
	in, err := tryInput(song, levels, opts...)
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func tryInput(song leadsheet.Song, levels string, opts ...edition.Options) (pack.Input, error) {
	if len(opts) == 0 {
		opts = []edition.Options{{}}
	}
	in := pack.Input{Name: "tune", Song: song, Hand: hand.Default(), Language: opts[0].Language, Program: "gradatim test"}
	in.Own.Imprint.Teacher = imprint.All
	for _, o := range opts {
		var err error
		if o.Levels, err = ladder.Select(levels, ladder.Levels()); err != nil {
			return in, err
		}
		as, err := edition.Make(context.Background(), song, o)
		if err != nil {
			return in, err
		}
		lesson, err := teach.Prepare(context.Background(), edition.Lesson(context.Background(), as, hand.Default()))
		if err != nil {
			return in, err
		}
		ed := pack.Edition{Lesson: lesson}
		for _, a := range as {
			ed.Key = a.Song.Key
			if a.Failed {
				ed.Refused = append(ed.Refused, pack.Refusal{Level: a.Level, Problems: a.Problems})
				continue
			}
			why, err := account.Of(a)
			if err != nil {
				return in, err
			}
			ed.Pages = append(ed.Pages, pack.Page{Level: a.Level, Score: a.Score, Printed: hand.Print(a.Score, a.Level.Fingers), Account: why})
		}
		in.Editions = append(in.Editions, ed)
	}
	return in, nil
}

func folder(t testing.TB, dir string) *pack.Folder {
	t.Helper()
	f, err := pack.NewFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func build(t testing.TB, dir string, in pack.Input, o pack.Options) pack.Report {
	t.Helper()
	if o.Audio == 0 {
		o.Audio = pack.NoAudio
	}
	r, err := pack.Make(context.Background(), folder(t, dir), in, o, tools(t, o.Audio != pack.NoAudio))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// sounding is the pack that most tests look at: two levels with recordings.
var soundingDir = sync.OnceValue(func() string {
	dir, err := os.MkdirTemp("", "gradatim-lesson-*")
	if err != nil {
		panic(err)
	}
	return dir
})

var soundingOnce sync.Once
var soundingInput pack.Input

func sounding(t testing.TB) (string, pack.Input) {
	t.Helper()
	sharedtest.Root()
	dir := filepath.Join(soundingDir(), "lesson")
	tools(t, true)
	soundingOnce.Do(func() {
		soundingInput = inputOf(t, read(t, ferryLamp), "1,3")
		build(t, dir, soundingInput, pack.Options{Audio: pack.SomeAudio})
	})
	if len(soundingInput.Editions) == 0 {
		t.Fatal("the pack for the tests could not be made")
	}
	return dir, soundingInput
}

var germanOnce sync.Once

// german is the same pack in German, without recordings.
func german(t testing.TB) string {
	t.Helper()
	dir := filepath.Join(soundingDir(), "lektion")
	tools(t, false)
	germanOnce.Do(func() {
		build(t, dir, inputOf(t, read(t, ferryLamp), "1,3", edition.Options{Language: "de"}), pack.Options{})
	})
	return dir
}

// inBoth runs a test over the pack in English and in German.
func inBoth(t *testing.T, f func(t *testing.T, dir string)) {
	t.Run("en", func(t *testing.T) {
		dir, _ := sounding(t)
		f(t, dir)
	})
	t.Run("de", func(t *testing.T) { f(t, german(t)) })
}

func TestMain(m *testing.M) {
	code := m.Run()
	os.RemoveAll(soundingDir())
	os.Exit(code)
}
