package press

import (
	"context"
	"slices"
	"testing"
	"time"

	"gradatim/internal/shelf"
)

// The pieces of a part can be read while it is made, and are gone when it is over.
func TestSteps(t *testing.T) {
	at, err := shelf.ParsePlace(t.TempDir(), "", true)
	if err != nil {
		t.Fatal(err)
	}
	s, p, run := ready(t, at, 1, Run{})
	m := maker(s, time.Millisecond)
	seen := []Step{{"level 1: score", 1}, {"level 1: MIDI", 0.25}}
	g := work(t, s, p, run, func(ctx context.Context, task Task) (Made, error) {
		task.Steps(seen)
		until(t, p, run, "its pieces", func(g Progress) bool { return len(g.Making) == 1 && slices.Equal(g.Making[0].Steps, seen) })
		return m(ctx, task)
	}, nil)
	if g.Counts[Done] != 1 {
		t.Fatalf("%+v", g.Counts)
	}
	done, err := p.Parts(t.Context(), run, Done)
	if err != nil || len(done) != 1 || done[0].Steps != nil {
		t.Errorf("%+v, %v", done, err)
	}
}
