package edition_test

import (
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/account"
	"gradatim/internal/audit"
	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/idiom"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Around every ninth sheet of the corpus, and with -short every fortieth, stand an
// introduction and an ending: the audit finds the whole tune between them by the sheet
// alone, and no rule broken; the file says what is what; each note has its reason, and the
// tune's keep their place in it; lesson and account speak of the tune as it is without.
func TestAroundTheTune(t *testing.T) {
	every := 9
	if testing.Short() {
		every = 40
	}
	made, introduced, tagged := 0, 0, 0
	for i, path := range sharedtest.Sheets(t) {
		if i%every != 3 {
			continue
		}
		name := filepath.Base(path)
		song := load(t, path)
		opt := edition.Options{Introduction: idiom.LongLength, Ending: idiom.ShortLength}
		if i%2 == 1 {
			opt.Introduction, opt.Ending = idiom.ShortLength, idiom.LongLength
		}
		e, err := edition.New(t.Context(), song, opt)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, a := range e.Pages {
			if a.Failed {
				t.Errorf("%s, level %d: %v", name, a.Level.Number, a.Problems.Err())
				continue
			}
			made++
			s, _ := a.Played()
			first, last, _ := s.OfTune()
			if first > 0 {
				introduced++
			}
			if last < len(s.Bars)-1 {
				tagged++
			}
			sheet := e.Song
			if found := audit.Check(a.Score, audit.Options{Song: &sheet}); len(found) > 0 {
				t.Errorf("%s, level %d, by the sheet: %v", name, a.Level.Number, found[0])
			}
			next := 0
			for _, n := range s.Notes {
				if n.Origin.Kind == 0 || n.Origin.Why == nil {
					t.Errorf("%s, level %d: %s has no reason", name, a.Level.Number, n.ID)
				}
				part := s.Bars[s.BarAt(n.At)].Part
				if part != score.Tune && !strings.HasPrefix(n.ID, part.String()[:1]) {
					t.Errorf("%s, level %d: %s stands in the %s", name, a.Level.Number, n.ID, part)
				}
				if e, ok := n.Origin.Event(); ok && n.Origin.Kind == score.Melody {
					if e != next || n.Pitch.Name != sheet.Melody[e].Pitch.Name {
						t.Fatalf("%s, level %d: %s is note %d of the tune, want %d", name, a.Level.Number, n.ID, e, next)
					}
					next++
				}
			}
			if next != len(sheet.Melody) {
				t.Errorf("%s, level %d: %d notes of the tune, want %d", name, a.Level.Number, next, len(sheet.Melody))
			}
			back := readBack(t, a.Score)
			for i, b := range back.Bars {
				if w := a.Score.Bars[i]; b.Part != w.Part || b.Pickup != w.Pickup || b.Number != w.Number || b.Signs != w.Signs || b.Dur != w.Dur {
					t.Errorf("%s, level %d: bar %d is read as %s %d, was %s %d", name, a.Level.Number, i, b.Part, b.Number, w.Part, w.Number)
					break
				}
			}
			for _, v := range audit.Check(back, audit.Options{Song: &sheet}) {
				t.Errorf("%s, level %d, from its file: %v", name, a.Level.Number, v)
			}
			tune, as, lead := a.Tune()
			if tune.End() != sheet.End() || len(as.Melody) != len(sheet.Melody) || lead != s.Bars[first].At {
				t.Errorf("%s, level %d: the tune ends at %s, want %s", name, a.Level.Number, tune.End(), sheet.End())
			}
			var told struct {
				Form []struct{ Role string }
			}
			if data, err := account.Of(a); err != nil || json.Unmarshal(data, &told) != nil {
				t.Errorf("%s, level %d: the account: %v", name, a.Level.Number, err)
			} else if got := told.Form[0].Role == "introduction"; got != (first > 0) {
				t.Errorf("%s, level %d: the account begins with a %s", name, a.Level.Number, told.Form[0].Role)
			}
			metres := func(s score.Score) (out []string) { // TestPageSoundsAsItWasArranged hears the rest
				p, err := perform.Perform(s, perform.Options{})
				if err != nil {
					t.Errorf("%s, level %d: %v", name, a.Level.Number, err)
				}
				for _, e := range p.Events() {
					if e.Kind == perform.MeterEvent {
						out = append(out, e.String())
					}
				}
				return out
			}
			if got, want := metres(back), metres(a.Score); !slices.Equal(got, want) {
				t.Errorf("%s, level %d: the file has the metres %q, was %q", name, a.Level.Number, got, want)
			}
		}
		in := edition.Lesson(t.Context(), e.Pages, hand.Default())
		for _, p := range in.Pages {
			if p.Score.End() != in.Song.End() || slices.ContainsFunc(p.Score.Bars, func(b score.Bar) bool { return b.Part != leadsheet.Tune }) {
				t.Errorf("%s, level %d: the lesson's page is not the tune", name, p.Level.Number)
			}
			if n := len(p.Decisions); n > 0 && p.Decisions[n-1].End > in.Song.End() {
				t.Errorf("%s, level %d: a chord is decided on to %s", name, p.Level.Number, p.Decisions[n-1].End)
			}
		}
	}
	t.Logf("%d pages, %d with an introduction, %d with a tag", made, introduced, tagged)
	if introduced*10 < made*9 || tagged*10 < made*7 {
		t.Errorf("of %d pages %d have an introduction and %d a tag", made, introduced, tagged)
	}
}
