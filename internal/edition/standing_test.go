package edition_test

import (
	"context"
	"encoding/json"
	"testing"

	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/internal/teach"
	"gradatim/score"
)

// TestStanding makes lessons of pages by others: songs for voice and piano (OpenScore
// Lieder, CC0) and printed piano pieces, both from the shared data. The notes stay what
// they are, each is explained, and the lesson says what the page is made of.
func TestStanding(t *testing.T) {
	pages := map[string]score.Score{}
	for _, a := range corpus.Accompaniments(t) {
		pages[a.Name] = a.Score
	}
	printed, err := scoretest.PrintedPages(sharedtest.Path(t, "data/human_pages"))
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range printed {
		pages[p.ID] = p.Score
	}
	drills := 0
	for name, s := range pages {
		if !sharedtest.Takes(name, 30, 12) {
			continue
		}
		p, err := edition.Standing(s, name, hand.Profile{}, "")
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for i, n := range p.Score.Notes {
			was := s.Notes[i]
			if n.At != was.At || n.Dur != was.Dur || n.Pitch != was.Pitch || n.ID != was.ID {
				t.Fatalf("%s: %s was changed", name, was.ID)
			}
			if n.Origin.Kind == 0 || n.Origin.Why == nil && n.At >= p.Score.Chords[0].At {
				t.Fatalf("%s: nothing is said of %s", name, n.ID)
			}
		}
		l, err := teach.Prepare(context.Background(), edition.Lesson(context.Background(), []edition.Page{p}, hand.Profile{}))
		if err != nil || len(l.Levels) != 1 {
			t.Fatalf("%s: %d levels, %v", name, len(l.Levels), err)
		}
		v := l.Levels[0]
		if len(v.Chords) == 0 || len(v.Plan.Phrases) == 0 || len(v.Plan.First) == 0 || len(v.New)+len(v.Also) == 0 {
			t.Errorf("%s: %d chords, %d phrases, %d hard places, %d techniques", name, len(v.Chords), len(v.Plan.Phrases), len(v.Plan.First), len(v.New)+len(v.Also))
		}
		drills += len(v.Drills)
		if _, err := json.Marshal(l); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if drills == 0 {
		t.Error("no page has a drill")
	}
}
