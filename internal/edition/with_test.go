package edition_test

import (
	"fmt"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// choicesFor fixes a technique to avoid, a chord, a figure and an octave, at three
// levels: things that any tune and any kind of tune admit.
func choicesFor(t *testing.T, song leadsheet.Song) []choice.Choice {
	t.Helper()
	bar := song.Bars[slices.IndexFunc(song.Bars, func(b leadsheet.Bar) bool { return b.Sheet == 6 })]
	chordAt := func(at theory.Dur) (c theory.Chord) {
		for _, m := range song.Chords {
			if m.At <= at {
				c = m.Chord
			}
		}
		return c
	}
	other := slices.IndexFunc(song.Chords, func(c leadsheet.ChordMark) bool { return c.Chord.Root != chordAt(bar.At).Root })
	cs, _, err := choice.Parse("choices.toml", fmt.Appendf(nil, `version = 2
[[choice]]
level = 2
bar = 3
avoid = "held-root"

[[choice]]
level = 4
bar = 6
bars = 1
chord = %q

[[choice]]
level = 3
bar = 9
hand = "left"
figure = "%s2@1:%s"

[[choice]]
level = 2
bar = 11
octave = 1
bars = 1
`, song.Chords[other].Chord, chordAt(song.Bars[8].At).Root, bar.Dur), song, ladder.Levels(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return cs
}

// TestWith: an edition that was changed is the edition that would have been made with
// the same choices from the start, however they came and went.
func TestWith(t *testing.T) {
	changed := 0
	for i, name := range originals {
		if testing.Short() && i > 0 {
			break
		}
		song := load(t, filepath.Join("examples", name+".abc"))
		opt := edition.Options{Levels: ladder.Levels()}
		if i == 1 { // in another key, too
			opt.Key = theory.Key{Tonic: theory.Name{Letter: theory.E, Alter: -1}, Mode: theory.Major}
		}
		made := func(cs []choice.Choice) *edition.Edition {
			o := opt
			o.Choices = cs
			e, err := edition.New(t.Context(), song, o)
			if err != nil {
				t.Fatal(err)
			}
			return e
		}
		all := choicesFor(t, song)
		first := made(nil)
		now := first
		for _, cs := range [][]choice.Choice{all[:1], all, slices.Concat(all[:1], all[2:]), nil} {
			next, err := now.With(t.Context(), cs)
			if err != nil {
				t.Fatal(err)
			}
			want := made(cs)
			for k := range want.Pages {
				if got, want := next.Pages[k], want.Pages[k]; !reflect.DeepEqual(got, want) {
					t.Errorf("%s, level %d, %d choices: another page than from nothing: %s", name, k+1, len(cs), difference(got, want))
				}
				if !reflect.DeepEqual(next.Pages[k].Score, first.Pages[k].Score) {
					changed++
				}
			}
			now = next
		}
	}
	if changed < 3 {
		t.Errorf("the choices change %d pages: too few to test with", changed)
	}
}

// TestWithClimbed: so is one whose lower levels had to be made again until they rise, where
// nothing of them has changed.
func TestWithClimbed(t *testing.T) {
	song := load(t, filepath.Join("examples", "thistle.abc"))
	made := func(levels []ladder.Level, text string) *edition.Edition {
		cs, _, err := choice.Parse("choices.toml", []byte("version = 2\n"+text), song, ladder.Levels(), nil)
		if err != nil {
			t.Fatal(err)
		}
		e, err := edition.New(t.Context(), song, edition.Options{Levels: levels, Choices: cs})
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	all := ladder.Levels()
	now := made(all, "")
	if alone := made(all[3:4], ""); reflect.DeepEqual(alone.Pages[0].Score.Notes, now.Pages[3].Score.Notes) {
		t.Fatal("level 4 rises by itself: too little to test with")
	}
	for _, text := range []string{"[[choice]]\nlevel = 5\nbar = 4\noctave = 1\nbars = 1\n", "[[choice]]\nlevel = 4\nbar = 4\noctave = 1\nbars = 1\n", "[[choice]]\nlevel = 3\nbar = 4\noctave = 1\nbars = 1\n", ""} {
		cs, _, err := choice.Parse("choices.toml", []byte("version = 2\n"+text), song, all, nil)
		if err != nil {
			t.Fatal(err)
		}
		if now, err = now.With(t.Context(), cs); err != nil {
			t.Fatal(err)
		}
		for k, want := range made(all, text).Pages {
			if !reflect.DeepEqual(now.Pages[k], want) {
				t.Errorf("level %d with %q: another page than from nothing: %s", k+1, text, difference(now.Pages[k], want))
			}
		}
	}
}

// TestWithLong: so is one of a tune that is too long for an edition to keep its plans, whether
// they stand in Plans by now or have to be made again.
func TestWithLong(t *testing.T) {
	song := wandering(t, 208)
	kept := edition.Options{Levels: ladder.Levels()[3:], Plans: new(edition.Plans)}
	first, err := edition.New(t.Context(), song, kept)
	if err != nil {
		t.Fatal(err)
	}
	fix := func(level, bar int, what string) string {
		return fmt.Sprintf("\n[[choice]]\nlevel = %d\nbar = %d\n%s\n", level, bar, what)
	}
	left, chord := fix(5, 40, "hand = \"left\"\nfigure = \"G2@1:1/1\""), fix(5, 120, "bars = 1\nchord = \"Em7\"")
	now, changed := first, 0
	steps := []string{left, left + chord, chord + fix(4, 41, "avoid = \"walking-bass\""), ""}
	if testing.Short() {
		steps = []string{left + chord, fix(4, 41, "avoid = \"walking-bass\"")}
	}
	for step, text := range steps {
		cs, _, err := choice.Parse("choices.toml", []byte("version = 2\n"+text), song, ladder.Levels(), nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := now.Decisions(t.Context(), 1, 40); err != nil { // as whoever looks at a bar first
			t.Fatal(err)
		}
		next, err := now.With(t.Context(), cs)
		if err != nil {
			t.Fatal(err)
		}
		from := edition.Options{Levels: kept.Levels, Choices: cs}
		want := first
		if text != "" {
			if want, err = edition.New(t.Context(), song, from); err != nil {
				t.Fatal(err)
			}
		}
		for k := range want.Pages {
			if got, want := next.Pages[k], want.Pages[k]; !reflect.DeepEqual(got, want) {
				t.Errorf("step %d, level %d: another page than from nothing: %s", step, k+4, difference(got, want))
			}
			if !reflect.DeepEqual(next.Pages[k].Score, first.Pages[k].Score) {
				changed++
			}
		}
		now = next
	}
	if changed < len(steps)-1 {
		t.Errorf("the choices change %d pages: too few to test with", changed)
	}
}

// wandering is a tune of ours of so many bars, no two strains of which are alike, so that no
// page folds it.
func wandering(t *testing.T, bars int) leadsheet.Song {
	t.Helper()
	var b strings.Builder
	b.WriteString("X:1\nT:Long Ferry\nM:4/4\nL:1/4\nK:G\n")
	strain := []string{`"G"G B d B`, `"Em"e d B G`, `"C"E G c E`, `"D7"F A d D`, `"G"G B d>B`, `"Am"A c B A`, `"D7"A F D F`, `"G"G4`}
	for i := range bars {
		k := i % len(strain)
		if i/len(strain)>>(k%5)&1 == 1 && k != len(strain)-1 {
			k = (k + 2) % (len(strain) - 1)
		}
		b.WriteString(strain[k] + "|")
		if i%4 == 3 {
			b.WriteString("\n")
		}
	}
	song, err := gradatim.Read("ferry.abc", []byte(b.String()), 1)
	if err != nil {
		t.Fatal(err)
	}
	return song
}

func difference(a, b edition.Page) string {
	x, y := reflect.ValueOf(a.Arrangement), reflect.ValueOf(b.Arrangement)
	for i := range x.NumField() {
		if !reflect.DeepEqual(x.Field(i).Interface(), y.Field(i).Interface()) {
			return x.Type().Field(i).Name
		}
	}
	return "its song"
}

// TestPlan: the plan of a page gives just that page, once it is fingered: slurs part
// where fingers cannot join.
func TestPlan(t *testing.T) {
	for _, name := range originals {
		song := load(t, filepath.Join("examples", name+".abc"))
		e, err := edition.New(t.Context(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, a := range e.Pages {
			plan, err := e.Plan(t.Context(), i)
			if err != nil {
				t.Fatal(err)
			}
			again, err := plan.Page(t.Context(), nil)
			if err != nil {
				t.Fatal(err)
			}
			again.Score.Subtitle = a.Score.Subtitle // it is put into words later, and so are the parts
			for k := range again.Score.Bars {
				again.Score.Bars[k].Section = a.Score.Bars[k].Section
			}
			again.Score = hand.PartSlurs(hand.FingerScore(again.Score, hand.Profile{}))
			if got, want := score.Text(hand.Print(again.Score, hand.None)), score.Text(hand.Print(a.Score, hand.None)); got != want {
				t.Errorf("%s, level %d: the plan gives another page", name, a.Level.Number)
			}
		}
	}
}
