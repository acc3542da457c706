package teach_test

import (
	"context"
	"strings"
	"testing"

	"gradatim/internal/teach"
)

// A level's title names one or two techniques that its page teaches, one of them at
// most for the left hand, and no two levels are called alike. What a level's file says goes before.
func TestTitlesAreThePages(t *testing.T) {
	for _, tune := range tunes {
		_, l := lessonOf(t, tune)
		seen := map[string]bool{}
		for _, level := range l.Levels {
			taught := map[string]string{}
			for _, n := range level.New {
				taught[strings.ToLower(n.Name)] = n.Stage
			}
			names := strings.Split(level.Title, "; ")
			left := 0
			for _, name := range names {
				stage, ok := taught[strings.ToLower(name)]
				if !ok {
					t.Errorf("%s, level %d is called %q and does not teach %q", tune, level.Number, level.Title, name)
				}
				if stage == "left hand" {
					left++
				}
			}
			if len(names) > 2 || left > 1 || seen[level.Title] {
				t.Errorf("%s, level %d is called %q", tune, level.Number, level.Title)
			}
			seen[level.Title] = true
		}
	}
	in := inputOf(t, song(t, "ferry"))
	in.Pages[0].Level.Title = "The first week"
	l, err := teach.Prepare(context.Background(), in)
	if err != nil || l.Levels[0].Title != "The first week" {
		t.Errorf("%q, %v", l.Levels[0].Title, err)
	}
}
